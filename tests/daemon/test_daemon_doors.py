"""The simulated world from outside, through its real doors, into a real daemon on the same rig."""

import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from brokers import Mosquitto
from daemons import Holdwater, holdwater
from waiting import until

from simulated_feeds import open_scenario

STORY = open_scenario("fairground")
NODES = {node.name for node in STORY.aboard.nodes}


@contextmanager
def played(folder: Path, *door: str) -> Iterator[Path]:
    """The fairground through a door; the file holds what it says."""
    said = folder / "world.said"
    with said.open("w") as out:
        command = [sys.executable, "-m", "simulated_feeds", "fairground", *door]
        world = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT)
    try:
        yield said
    finally:
        world.kill()
        world.wait()


def rig_on(folder: Path, feed: str) -> Path:
    """The scenario's own rig file with another feed."""
    rig, feeds = folder / "rig.toml", re.compile(r"\[\[feed\]\]\n(?:.+\n)+")
    text, found = feeds.subn(f"[[feed]]\n{feed}\n", STORY.rig_toml)
    assert found == 1
    rig.write_text(re.sub(r'listen = ".*"', 'listen = "127.0.0.1:0"', text), "utf-8")
    return rig


def hears_all(running: Holdwater) -> None:
    """A volume near the truth, and every node of the world with a signal that is good."""
    volume_l = until(running.volume_l, 20.0, "a level has come")
    assert volume_l == pytest.approx(STORY.truth(STORY.start_at + 5.0).volume_l, rel=0.1)
    good = lambda: {each["node"] for each in running.state()["signals"] if each["quality"] == "good"}  # noqa: E731
    until(lambda: good() == NODES, 20.0, "every node is heard")


def test_over_a_pseudo_terminal(tmp_path: Path) -> None:
    with played(tmp_path, "--pty") as said:
        port = until(lambda: re.search(r"/dev/pts/\d+", said.read_text("utf-8")))
        with holdwater(tmp_path, "run", rig_on(tmp_path, f'serial = "{port.group()}"\nbaud = 115200')) as running:
            hears_all(running)


@pytest.mark.broker
def test_over_a_broker_as_nodes_with_wills(broker: Mosquitto, tmp_path: Path) -> None:
    rig = rig_on(tmp_path, f'mqtt = "{broker.url}"\ntopics = ["holdwater/+/readings"]')
    with holdwater(tmp_path, "run", rig) as running:
        with played(tmp_path, "--mqtt", broker.url):
            hears_all(running)
        until(lambda: "node-lost" in running.alarms(), 20.0, "its wills are told when it is killed")
