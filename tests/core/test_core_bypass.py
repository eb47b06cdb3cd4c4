"""A pump that turns and takes nothing: told by its own signals, or by a balance that knows where all water goes."""

from trailer import Watched, rig

from monitor.balance.pumps import PumpWatch
from monitor.balance.trust import Verdict
from monitor.core import Core
from monitor.core.verdicts import Verdicts

ENGINE_ONLY = rig(rides=('running = "rides/running"\ndrawing = "rides/drawing"', 'running = "rides/running"'))


def test_bypass_gets_hot():
    watched = Watched().runs(30)
    watched.runs(200, running=("Rides",))
    assert watched.stands("bypass-hot", "Rides")
    watched.runs(20, "Rides")
    assert not watched.stands("bypass-hot", "Rides")


def test_bypass_gets_hot_too_where_no_signal_says_whether_the_pump_draws():
    """The engine runs, the tap flows, and the level takes in all of it: nobody draws."""
    for tap in (0.0, 15.0):
        watched = Watched(400.0, core=Core(ENGINE_ONLY)).runs(240, "Rides", tap=15.0)
        assert "bypass-hot" not in watched.raised()
        watched.runs(400, running=("Rides",), tap=tap)
        assert watched.stands("bypass-hot", "Rides")
        watched.runs(60, "Rides", tap=tap)
        assert not watched.stands("bypass-hot", "Rides")


def test_where_the_meter_may_have_stopped_a_level_that_holds_makes_no_bypass_hot(monkeypatch):
    """Water that nobody counts may hold it up."""
    monkeypatch.setattr(Verdicts, "stop_unproven", True)
    watched = Watched(400.0, core=Core(ENGINE_ONLY)).runs(240, "Rides", tap=15.0).runs(400, running=("Rides",))
    assert "bypass-hot" not in watched.raised()


def test_where_the_meter_is_wrong_nothing_says_that_a_pump_idles(monkeypatch):
    """What it does not count is taken for a draw that is not there."""
    monkeypatch.setattr(PumpWatch, "_state", lambda pump, _: "bypass" if pump.running else "off")
    assert "bypass-hot" in Watched(400.0, core=Core(ENGINE_ONLY)).runs(400, "Rides", tap=15.0).raised()
    monkeypatch.setattr(Verdicts, "_supply", lambda *_: Verdict("uncertain", "contradicts"))
    assert "bypass-hot" not in Watched(400.0, core=Core(ENGINE_ONLY)).runs(400, "Rides", tap=15.0).raised()


def test_a_trigger_now_and_then_keeps_the_bypass_cool():
    watched = Watched(800.0, core=Core(ENGINE_ONLY)).runs(120, "Rides")
    for _ in range(8):
        watched.runs(100, running=("Rides",)).runs(40, "Rides")
    assert "bypass-hot" not in watched.raised()
