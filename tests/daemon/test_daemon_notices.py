"""What the daemon tells others: heard by mosquitto_sub, and by a socket in systemd's place."""

import json
import os
import signal
import socket
import subprocess
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from brokers import Mosquitto
from daemons import Holdwater, holdwater, write_rig
from talkers import Pack, level, talking
from waiting import until


class Listener:
    """mosquitto_sub on one topic filter; `-v` puts the topic before each payload."""

    def __init__(self, broker: Mosquitto, topic: str, *more: str) -> None:
        self.out = (
            broker.folder / f"heard-{topic.replace('/', '-').replace('#', 'all')}-{len(list(broker.folder.iterdir()))}"
        )
        with self.out.open("w") as out:
            at = ["-h", "localhost", "-p", str(broker.port)]
            self.process = subprocess.Popen(["mosquitto_sub", *at, "-v", "-t", topic, *more], stdout=out)

    def heard(self) -> list[tuple[str, str]]:
        lines = self.out.read_text("utf-8").split("\n")[:-1]
        return [(topic.removeprefix("holdwater/rig/"), said) for topic, _, said in (x.partition(" ") for x in lines)]

    def of(self, topic: str) -> list[str]:
        return [said for heard, said in self.heard() if heard == topic]

    def last(self, topic: str) -> Any:
        said = self.of(topic)
        return json.loads(said[-1]) if said else {}

    def end(self) -> None:
        self.process.kill()
        self.process.wait()


@pytest.fixture
def listen(broker: Mosquitto) -> Iterator[Any]:
    listeners: list[Listener] = []

    def start(topic: str, *more: str) -> Listener:
        listeners.append(Listener(broker, topic, *more))
        return listeners[-1]

    yield start
    for each in listeners:
        each.end()


@pytest.fixture
def running(broker: Mosquitto, tmp_path: Path) -> Iterator[Holdwater]:
    folder = tmp_path / "daemon"
    folder.mkdir()
    with holdwater(folder, "run", write_rig(folder / "rig.toml", f'mqtt = "{broker.url}"')) as running:
        until(lambda: running.health()[1]["notices"]["ok"], what="connected")
        yield running


def low(s: float) -> Pack:
    return level(0.15 + 0.001 * (s * 5 % 2 < 1))


@pytest.mark.broker
def test_the_state_each_second_and_alarms_by_name(running: Holdwater, broker: Mosquitto, listen) -> None:
    ear = listen("holdwater/rig/#")
    until(lambda: len(ear.of("state")) >= 4, what="a state each second")
    ats = [json.loads(said)["at"] for said in ear.of("state")]
    assert all(earlier < later for earlier, later in pairwise(ats))
    assert ear.last("state")["rig"]["name"] == "Test rig"
    assert set(ear.of("alive")) == {"up"}
    assert ear.last("alarm/dry")["state"] == "normal"
    with talking([*broker.publisher("holdwater/tank/readings"), "-l"], low):
        until(lambda: ear.last("alarm/dry")["state"] == "unacknowledged", what="told of")
        assert ear.last("alarm/dry")["priority"] == "critical"
        running.http.post("/api/act", json={"act": "acknowledge", "alarm": "dry"})
        until(lambda: ear.last("alarm/dry")["state"] == "acknowledged")
    late = listen("holdwater/rig/alarm/#", "--retained-only")
    until(lambda: late.last("alarm/dry").get("state") == "acknowledged", what="kept by the broker")
    assert running.rejects() == {}, "the daemon takes no offence at its own word"


@pytest.mark.broker
def test_the_will_speaks_for_a_killed_daemon(running: Holdwater, listen) -> None:
    ear = listen("holdwater/rig/alive")
    until(lambda: ear.of("alive")[-1:] == ["up"])  # heard twice where it is said as the ear begins to listen
    running.kill()
    until(lambda: ear.of("alive")[-1:] == ["gone"], 20.0)


@pytest.mark.broker
def test_a_daemon_that_ends_says_so(running: Holdwater, listen) -> None:
    ear = listen("holdwater/rig/alive")
    until(lambda: ear.of("alive")[-1:] == ["up"])
    assert running.stop() == 0
    until(lambda: ear.of("alive")[-1:] == ["gone"])


@pytest.mark.broker
def test_alarms_are_told_anew_when_the_broker_is_back(running: Holdwater, broker: Mosquitto, listen) -> None:
    """Without a store of its own the broker has forgotten all that it kept."""
    with talking([*broker.publisher("holdwater/tank/readings"), "-l"], low):
        running.until_alarm("dry")
    broker.kill()
    until(lambda: not running.health()[1]["notices"]["ok"])
    assert "broker" in running.health()[1]["notices"]["do"]
    broker.start()
    until(lambda: running.health()[1]["notices"]["ok"], 15.0)
    ear = listen("holdwater/rig/#")
    until(lambda: ear.last("alarm/dry").get("state") not in (None, "normal"))
    until(lambda: ear.of("alive") == ["up"])


def above(s: float) -> Pack:
    """Over the heel and under the band: what falls from here is believed at once."""
    return level(0.2 + 0.001 * (s * 5 % 2 < 1))


def resting(_: float) -> Pack:
    return [{"bn": "rides/", "n": "running", "vb": False}, {"n": "drawing", "vb": False}]


def reset(running: Holdwater) -> int:
    return running.http.post("/api/act", json={"act": "reset-permit", "by": "Ana"}).status_code


@pytest.mark.broker
def test_a_permit_goes_on_from_a_persons_reset_until_the_tank_is_dry(broker: Mosquitto, tmp_path: Path, listen) -> None:
    ear = listen("holdwater/rig/permit")
    rig = write_rig(tmp_path / "rig.toml", f'mqtt = "{broker.url}"', more="[notices]\npermit = true")
    programs = {node: [*broker.publisher(f"holdwater/{node}/readings"), "-l"] for node in ("tank", "rides")}
    with holdwater(tmp_path / "daemon", "run", rig) as running, talking(programs["rides"], resting):
        assert running.state()["permit"] == {"on": False, "why": "start"}
        assert reset(running) == 409, "with no level nothing is let go on"
        with talking(programs["tank"], above):
            until(lambda: reset(running) == 204, what="a person resets it, the triggers shut")
            until(lambda: len(ear.of("permit")) >= 3)
            assert ear.of("permit")[:3] == ["1", "2", "3"]
        with talking(programs["tank"], low):
            until(lambda: running.state()["permit"] == {"on": False, "why": "dry"}, 60.0)
        last = ear.of("permit")[-1]
        with talking(programs["tank"], above):
            until(lambda: running.alarms().get("dry") not in ("unacknowledged", "acknowledged"), 60.0)
            at = running.state()["at"]
            until(lambda: running.state()["at"] > at + 3.0)
            assert ear.of("permit")[-1] == last, "water alone does not start a machine"


@pytest.mark.broker
def test_no_permit_unless_the_owner_turned_it_on_nor_in_a_story(broker: Mosquitto, tmp_path: Path, listen) -> None:
    ear = listen("holdwater/rig/#")
    story = f'[notices]\nmqtt = "{broker.url}"\npermit = true'
    for number, (feed, more) in enumerate(((f'mqtt = "{broker.url}"', ""), ('simulated = "fairground"', story))):
        rig = write_rig(tmp_path / f"rig{number}.toml", feed, more=more)
        with holdwater(tmp_path / f"daemon{number}", "run", rig) as running:
            heard = len(ear.of("state"))
            until(lambda heard=heard: len(ear.of("state")) >= heard + 3)
            assert running.state()["permit"] is None
            assert reset(running) == 409
    assert ear.of("permit") == []


def test_systemd_is_told(tmp_path: Path) -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(tmp_path / "notify"))
        manager.settimeout(20.0)
        env = {**os.environ, "NOTIFY_SOCKET": str(tmp_path / "notify"), "WATCHDOG_USEC": "2000000"}
        rig = write_rig(tmp_path / "rig.toml", 'serial = "/dev/no-such-port"')
        with holdwater(tmp_path, "run", rig, env=env) as running:
            assert manager.recv(100).decode().split("\n") == ["READY=1", "STATUS=Watches Test rig"]
            assert [manager.recv(100) for _ in range(3)] == [b"WATCHDOG=1"] * 3
            running.tell(signal.SIGTERM)
            assert running.process.wait(10.0) == 0
            said = []
            while b"STOPPING=1" not in said:
                said.append(manager.recv(100))


@pytest.mark.broker
def test_a_horn_at_the_broker_blows_for_the_triggers_and_falls_silent_once_somebody_has_seen_it(
    broker: Mosquitto, tmp_path: Path, listen
) -> None:
    ear = listen("trailer/horn")
    rig = write_rig(
        tmp_path / "rig.toml", f'mqtt = "{broker.url}"', more='[notices]\nhorn = { topic = "trailer/horn" }'
    )
    with holdwater(tmp_path / "daemon", "run", rig) as running:
        until(lambda: len(ear.heard()) >= 2 and running.health()[1]["horn"]["ok"], what="told how to stand")
        assert {said for _, said in ear.heard()} == {"0"}
        assert running.http.post("/api/act", json={"act": "test-horn"}).status_code == 204
        until(lambda: [said for _, said in ear.heard()].count("1") >= 4, what="the test")
        with talking([*broker.publisher("holdwater/tank/readings"), "-l"], low):
            running.until_alarm("dry")
            heard = len(ear.heard())
            until(lambda: [said for _, said in ear.heard()[heard:]].count("1") >= 4, what="it blows")
        for alarm in running.alarms():
            running.http.post("/api/act", json={"act": "acknowledge", "alarm": alarm})
        until(lambda: [said for _, said in ear.heard()[-2:]] == ["0", "0"], what="silence")


def test_no_horn_in_practice(tmp_path: Path) -> None:
    more = '[notices]\nhorn = { serial = "/dev/no-such-port" }'
    rig = write_rig(tmp_path / "rig.toml", 'simulated = "fairground"', more=more)
    with holdwater(tmp_path / "daemon", "run", rig) as running:
        assert running.state()["horn"] is None
        assert "horn" not in running.health()[1]
        refused = running.http.post("/api/act", json={"act": "test-horn"})
        assert refused.status_code == 409
        assert "practice" in refused.json()["do"]


def test_a_horn_that_is_not_there_is_said(tmp_path: Path) -> None:
    more = '[notices]\nhorn = { serial = "/dev/no-such-port" }'
    rig = write_rig(tmp_path / "rig.toml", 'serial = "/dev/no-such-feed"', more=more)
    with holdwater(tmp_path / "daemon", "run", rig) as running:
        until(lambda: "no-such-port" in running.health()[1]["horn"]["why"])
        assert "Plug it in" in running.health()[1]["horn"]["do"]
