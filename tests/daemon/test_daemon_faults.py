"""A fault of the program in one part: said once, seen in the health, and the rest goes on."""

import logging
from pathlib import Path
from typing import Any

import pytest
from daemons import write_rig

from monitor.core.intake import KEPT_NODES
from monitor.daemon import Daemon
from monitor.faults import SHOWN_S, Faults
from monitor.readings import Alive
from monitor.rig.load import load
from monitor.sparing import EVERY_S, Sparing


def broken(*_: Any) -> Any:
    raise ZeroDivisionError("a bug")


@pytest.fixture
def daemon(tmp_path: Path) -> Daemon:
    return Daemon(load(write_rig(tmp_path / "rig.toml", 'serial = "/dev/nowhere"')))


def test_a_fault_while_deciding_is_seen_and_feeds_no_watchdog(
    daemon: Daemon, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    fed: list[float] = []
    monkeypatch.setattr(daemon.systemd, "alive", fed.append)
    with monkeypatch.context() as while_broken:
        while_broken.setattr(daemon.core, "advance", broken)
        daemon._round()
        daemon._round()
    assert fed == []
    assert len([record for record in caplog.records if "fault of the program" in record.message]) == 1
    part = next(part for part in daemon.health() if part.name == "deciding")
    assert not part.ok
    assert "a bug" in part.why
    daemon._round()
    assert len(fed) == 1


def test_a_fault_in_one_rule_is_shown_to_everybody_and_the_daemon_goes_on(
    daemon: Daemon, monkeypatch: pytest.MonkeyPatch
) -> None:
    fed: list[float] = []
    monkeypatch.setattr(daemon.systemd, "alive", fed.append)
    monkeypatch.setattr(daemon.core.judge, "_supply_side", broken)
    daemon.core.advance(daemon.clock.now() - 5.0)
    daemon._round()
    assert len(fed) == 1
    assert daemon.state()["faults"] == ["alarms, supply"]
    part = next(part for part in daemon.health() if part.name == "alarms, supply")
    assert (part.ok, part.do) == (False, "Restart it; report what the log says.")


def test_one_arrival_that_brings_out_a_fault_stops_no_time(daemon: Daemon, monkeypatch: pytest.MonkeyPatch) -> None:
    fed: list[float] = []
    monkeypatch.setattr(daemon.systemd, "alive", fed.append)
    monkeypatch.setattr(daemon.core, "take", broken)
    daemon.inbox.put(Alive(daemon.clock.now(), "serial 1", "tank", True, False))
    daemon._round()
    assert len(fed) == 1
    assert daemon.faults.recent("deciding") is not None


def test_a_fault_of_the_horn_is_not_a_fault_of_deciding(daemon: Daemon) -> None:
    with daemon.faults.held("horn"):
        broken()
    ok = {part.name: part.ok for part in daemon.health()}
    assert ok["deciding"]
    assert not ok["horn"]


def test_a_fault_that_is_over_is_forgotten() -> None:
    now = 0.0
    faults = Faults(lambda: now)
    with faults.held("horn"):
        broken()
    assert faults.parts() == ["horn"]
    now = SHOWN_S
    assert faults.parts() == []


def test_names_of_nodes_are_bounded(daemon: Daemon) -> None:
    for n in range(3 * KEPT_NODES):
        daemon.core.take(Alive(daemon.clock.now(), "mqtt 1", f"node{n}", n % 2 == 0, False))
    assert len(daemon.core.intake.nodes) == KEPT_NODES
    assert "tank" in daemon.core.intake.nodes


def test_a_line_that_comes_again_and_again_spares_the_card(caplog: pytest.LogCaptureFixture) -> None:
    now = 0.0
    sparing = Sparing(lambda: now)

    def told(text: str, *values: object) -> str | None:
        record = logging.LogRecord("holdwater", logging.INFO, "", 0, text, values, None)
        return record.getMessage() if sparing.filter(record) else None

    assert [told("%d rejects", n) for n in range(5)] == ["0 rejects", "1 rejects", "2 rejects", None, None]
    assert told("another") == "another"
    now = EVERY_S
    assert told("%d rejects", 9) == "9 rejects (2 more like it before)"
