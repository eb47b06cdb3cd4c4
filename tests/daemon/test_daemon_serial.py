"""The daemon on a serial line: a pseudo-terminal under a name that stays, written to by another process."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from daemons import Holdwater, holdwater, write_rig
from ports import Port
from talkers import Talker, level, talking
from waiting import until


@pytest.fixture
def running(port: Port, tmp_path: Path) -> Iterator[Holdwater]:
    with holdwater(tmp_path, "run", write_rig(tmp_path / "rig.toml", f'serial = "{port.name}"')) as running:
        until(lambda: running.health()[1]["serial 1"]["ok"], what="the port is open")
        yield running


def on(port: Port, height_m: float = 0.5) -> Talker:
    return talking(["cat"], lambda _: level(height_m), **port.writer())


def packs(running: Holdwater) -> int:
    return running.state()["feeds"][0]["packs"]


def test_another_process_moves_the_state_and_garble_does_not(running: Holdwater, port: Port) -> None:
    with on(port):
        volume_l = until(running.volume_l)
    for garble in (b"\x00\xff\xfe{{[\n", b"[" + b"9" * 1_000_000 + b"]\n", b'[{"n":"tank/level","v":NaN}]\n'):
        port.send(garble)
    until(lambda: set(running.rejects()) >= {"too-long", "not-a-number"})
    assert running.volume_l() == pytest.approx(volume_l, rel=0.02)
    heard = packs(running)
    port.send(b'[{"n":"tank/level","u":"m","v":0.5}]\n')
    until(lambda: packs(running) == heard + 1, what="the next good line is read")


def test_a_port_that_is_pulled_out_and_put_back(running: Holdwater, port: Port) -> None:
    with on(port):
        until(lambda: packs(running) > 10, what="a rhythm to be missed")
    port.pull_out()
    running.until_alarm("node-lost", within_s=10.0)
    part = running.health()[1]["serial 1"]
    assert part["ok"] is False
    assert port.name in part["why"]
    assert part["do"]
    heard = packs(running)
    port.plug_in()
    with on(port):
        until(lambda: packs(running) > heard, 10.0, "data again")
        until(lambda: running.health()[0] == 200, what="healthy again")
