"""A fault of the program in one part of a second's work: the other parts, and the other alarms, go on."""

import pytest
from trailer import Watched, drained_until, rig

from monitor.balance.balance import Balance
from monitor.core import Core
from monitor.core.judge import Judge
from monitor.core.outlook import Outlook
from monitor.faults import Faults
from monitor.notices.telling import _seen


def breaks(*_):
    raise ZeroDivisionError("a bug")


@pytest.fixture
def faults():
    return Faults(lambda: 0.0)


def watched(faults):
    return Watched(330.0, core=Core(rig(), held=faults.held)).runs(60)


@pytest.mark.parametrize(
    ("room", "name", "part"),
    [
        (Judge, "_water", "alarms, water"), (Judge, "_signals", "alarms, signals"), (Judge, "_leak", "alarms, supply"),
        (Judge, "_draw", "alarms, pumps"), (Judge, "_empty", "alarms, dry"), (Judge, "_others", "alarms, others"),
        (Judge, "situation", "alarms, their situation"), (Balance, "tick", "balance"), (Outlook, "look", "forecast"),
    ],
)  # fmt: skip
def test_dry_soon_comes_in_time_whatever_else_is_broken(faults, monkeypatch, room, name, part):
    trailer = watched(faults)
    with monkeypatch.context() as broken:
        broken.setattr(room, name, breaks)
        left_s = drained_until(trailer, "dry-soon", "Rides")
        # by the balance at two minutes and the reserve; by the raw level alone it is later, and still before the heel
        assert left_s > 30.0
        trailer.runs(10)
        assert faults.parts() == [part]
    trailer.runs(2)
    assert trailer.core.sound


def test_a_fault_clears_no_alarm_and_stops_the_permit(faults, monkeypatch):
    trailer = watched(faults)
    drained_until(trailer, "water-low", "Rides")
    assert _seen(trailer.core, True).level_trusted
    monkeypatch.setattr(Judge, "_water", breaks)
    trailer.runs(300, tap=60.0)
    assert trailer.stands("water-low"), "nobody knows any more"
    assert not _seen(trailer.core, True).level_trusted


def test_where_nobody_holds_it_a_fault_is_an_end(monkeypatch):
    """A replay must not go on as if nothing had been."""
    trailer = Watched(330.0).runs(60)
    monkeypatch.setattr(Judge, "_leak", breaks)
    with pytest.raises(ZeroDivisionError):
        trailer.runs(1)
