"""Whole situations by hand: a drain, a lying balance, a lost level, what people do."""

import pytest
from trailer import FULL_L, Watched, drained_until, rig

from monitor.alarms.refusals import Refused
from monitor.balance.filter import Filter
from monitor.core import Core
from monitor.core.standing import standing
from monitor.readings import Act

L_PER_GAL = 3.785411784


# -- dry-soon ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("drawing", [("Rides",), ("Stalls",), ("Rides", "Stalls")])
def test_a_drain_is_warned_of_in_time_and_not_long_before(drawing):
    watched = Watched(330.0).runs(60)
    left_s = drained_until(watched, "dry-soon", *drawing)
    assert 125.0 < left_s < 230.0
    assert watched.raised() in (["dry-soon"], ["water-low", "dry-soon"])
    left_s = drained_until(watched, "dry", *drawing)
    assert -5.0 < left_s < 60.0
    assert watched.stands("dry-soon")


def test_dry_soon_goes_when_water_comes_and_not_when_a_trigger_is_let_go():
    watched = Watched(250.0).runs(60)
    drained_until(watched, "dry-soon", "Rides")
    watched.runs(120)
    assert watched.stands("dry-soon")  # a pause: the trigger may be pulled again at any time
    watched.runs(180, tap=60.0)
    assert not watched.stands("dry-soon")
    assert watched.state("dry-soon") == "returned to normal unacknowledged"


def test_a_second_pump_that_joins_is_reckoned_with_at_once():
    watched = Watched(300.0).runs(300, "Stalls")
    watched.runs(60, "Rides")
    assert watched.volume_l < 230.0
    left_s = drained_until(watched, "dry-soon", "Rides", limit_s=60)
    assert left_s > 120.0


UNWATCHED = {name: (f'running = "{name}/running"\ndrawing = "{name}/drawing"\n', "") for name in ("rides", "stalls")}


def test_a_pump_that_nobody_watches_counts_until_it_was_seen_to_rest():
    """A daemon that has just begun has seen nothing yet; one that watched it rest goes on knowing."""
    saved = Watched(150.0, core=Core(rig(**UNWATCHED))).runs(20).core.save()
    assert Watched(150.0, core=Core(rig(**UNWATCHED))).runs(20).stands("dry-soon")
    rested = {"rested_s": {"Rides": 900.0, "Stalls": 900.0}, "alarms": None}
    assert not Watched(150.0, core=Core(rig(**UNWATCHED), saved | rested)).runs(20).stands("dry-soon")


def test_a_pump_that_nobody_watches_counts_on_while_no_level_tells_that_it_rests():
    watched = Watched(700.0, core=Core(rig(**UNWATCHED))).runs(420, "Rides")
    watched.runs(900, silent=("tank",))
    assert drained_until(watched, "dry-soon", "Rides", silent=("tank",)) > 60.0


def test_a_tap_that_carries_the_pump_raises_nothing():
    watched = Watched(230.0).runs(900, "Stalls", tap=14.5)
    assert not watched.stands("dry-soon")
    assert watched.forecasts[-1].dry_if_kept_s is None


def test_the_independent_path_speaks_when_the_balance_lies(monkeypatch):
    """However full the filter says the tank is, the raw level and the rig file's own draws raise it before the heel."""
    honest = Filter.belief
    monkeypatch.setattr(Filter, "belief", lambda *a: honest(*a)._replace(volume_l=FULL_L, volume_sd_l=1.0))
    watched = Watched(400.0).runs(60)
    left_s = drained_until(watched, "dry-soon", "Rides")
    assert watched.core.forecast.volume_l == FULL_L
    assert left_s > 60.0
    assert "water-low" not in watched.raised()  # all the rest believes the lie


def test_the_independent_path_outlives_a_frozen_filter(monkeypatch):
    monkeypatch.setattr(Filter, "see", lambda *a: None)
    monkeypatch.setattr(Filter, "step", lambda *a: None)
    watched = Watched(400.0).runs(60)
    assert drained_until(watched, "dry-soon", "Rides") > 60.0


def test_with_the_level_lost_the_volume_is_carried_on_and_dry_soon_comes_all_the_same():
    watched = Watched(400.0).runs(120, "Rides")
    sd_l = watched.belief.volume_sd_l
    watched.runs(120, "Rides", silent=("tank",))
    assert watched.belief.volume_sd_l > sd_l
    assert abs(watched.off_l) < 2.0 * watched.belief.volume_sd_l
    assert watched.forecasts[-1].level_quality == "bad"
    assert watched.forecasts[-1].dry_s is not None
    assert drained_until(watched, "dry-soon", "Rides", silent=("tank",)) > 120.0


def test_a_level_lost_while_dry_soon_stands_clears_nothing():
    watched = Watched(250.0).runs(60)
    drained_until(watched, "dry-soon", "Rides")
    watched.runs(300, silent=("tank",))
    assert watched.stands("dry-soon")


def test_the_trades_own_drain_takes_18_to_23_minutes():
    """13.5 gpm on a 4–6 gpm tap empties 250 → 75 gal in 18.4, 20.6, 23.3 min: common practice, no published source
    (the tap's range from memory)."""
    tank = rig(
        table=('["1200 mm", "1200 L"]', '["1300 mm", "1300 L"]'),
        capacity=('"1200 L"', '"320 gal"'), full=('"1000 L"', '"300 gal"'), heel=('"100 L"', '"75 gal"'),
        band=('["200 L", "700 L"]', '["100 gal", "180 gal"]'), tow=('"300 L"', '"80 gal"'),
        rides=('"22 L/min"', '"8 gpm"'), stalls=('"14 L/min"', '"5.5 gpm"'),
    )  # fmt: skip
    rates = {"Rides": 8.0 * L_PER_GAL, "Stalls": 5.5 * L_PER_GAL}
    for tap_gpm, minutes in ((4.0, 18.421), (5.0, 20.588), (6.0, 23.333)):
        tap = tap_gpm * L_PER_GAL
        start_l = 250 * L_PER_GAL + 2.0 * (13.5 * L_PER_GAL - tap)
        watched = Watched(start_l, core=Core(tank), rates=rates, noise_m=0.001)
        watched.runs(120, "Rides", "Stalls", tap=tap)
        assert watched.volume_l == pytest.approx(250 * L_PER_GAL)
        kept_s = watched.forecasts[-1].dry_if_kept_s
        assert kept_s / 60.0 == pytest.approx(minutes, rel=0.04)
        assert 17.5 < kept_s / 60.0 < 24.3


# -- other alarms ------------------------------------------------------------------------------------------------------


def test_water_low_and_back_again():
    watched = Watched(230.0).runs(60)
    drained_until(watched, "water-low", "Stalls")
    assert watched.volume_l == pytest.approx(200.0, abs=15.0)
    watched.runs(240, tap=30.0)
    assert not watched.stands("water-low")


def test_a_supply_that_stops_is_said_once_it_was_known():
    watched = Watched(500.0).runs(300, "Stalls", tap=14.0)
    watched.runs(60, "Stalls")
    assert watched.raised() == ["supply-lost"]


def test_a_leak_on_a_parked_rig():
    watched = Watched(600.0).runs(600, leak=3.0)
    assert "leak" in watched.raised()
    assert "dry-soon" not in watched.raised()


def test_a_parked_rig_is_quiet():
    """Full, everything constant, for longer than the longest window looked at."""
    watched = Watched(FULL_L - 5.0).runs(1200)
    assert watched.raised() == []
    assert watched.forecasts[-1].dry_s == {"p05": None, "p50": None, "p95": None}


def test_a_level_frozen_while_a_pump_draws_is_a_starved_pump_before_it_is_a_stuck_gauge():
    watched = Watched(500.0).runs(60)
    watched.runs(60, "Rides", level_m=0.5)
    assert watched.state("pump-starved", "Rides") == "unacknowledged"
    (cause,) = [a for a in watched.core.board.standing() if a["alarm"] == "pump-starved"]
    assert cause["followers"] == ["level-signal"]
    assert watched.forecasts[-1].level_quality == "bad"


def test_a_level_that_repeats_itself_parked_is_no_alarm_for_the_pumps():
    watched = Watched(500.0).runs(60)
    watched.runs(300, level_m=0.5)
    assert "pump-starved" not in watched.raised()
    assert "dry-soon" not in watched.raised()


def test_a_level_that_is_silent_repeats_nothing():
    """Whatever is drawn since it was last heard, its loss tells nothing of the pumps."""
    watched = Watched(500.0).runs(60)
    watched.runs(120, "Rides", silent=("tank",))
    assert "node-lost" in watched.raised()
    assert "pump-starved" not in watched.raised()


def test_overfill():
    watched = Watched(990.0).runs(120, tap=30.0)
    assert "overfill" in watched.raised()


# -- what people do ----------------------------------------------------------------------------------------------------


def test_it_stands_here_moves_the_volume_and_takes_the_tilt_out():
    """As far as a person reads a tank: the spread of what was believed before has its say too."""
    watched = Watched(500.0).runs(120)
    before = watched.belief
    watched.does("it-stands-here", volume_l=450.0)
    watched.runs(60)
    after = watched.belief
    moved_l = before.volume_l - after.volume_l
    assert 5.0 < moved_l <= 50.0
    assert 1000.0 * (after.bias_m - before.bias_m) == pytest.approx(moved_l, abs=1.0)
    assert after.volume_sd_l < before.volume_sd_l
    assert watched.raised() == []


def test_packing_up_asks_for_the_tow_limit_until_it_is_over():
    watched = Watched(500.0).runs(30)
    watched.does("packing-up")
    watched.runs(10)
    assert watched.stands("tow-heavy")
    assert standing(watched.core, watched.at)["packing_up"] is True
    watched.does("new-place")
    watched.runs(40)
    assert not watched.stands("tow-heavy")


def test_a_rig_that_moves_with_too_much_water_is_heavy():
    watched = Watched(500.0).runs(30)
    watched.runs(10, moving=True)
    assert watched.stands("tow-heavy")
    light = Watched(250.0).runs(30)
    light.runs(10, moving=True)
    assert not light.stands("tow-heavy")


def test_on_the_road_no_water_comes_in_where_no_meter_counts():
    """What the level showed of the tap before the hose came off is not poured into a tank on the road."""
    bare = rig(
        meter=('[supply]\nreading = "inlet/total"\nmeasures = "total"', ""),
        rides=('running = "rides/running"\ndrawing = "rides/drawing"', ""),
        stalls=('running = "stalls/running"\ndrawing = "stalls/drawing"', ""),
    )
    watched = Watched(250.0, core=Core(bare)).runs(240, tap=15.0)
    assert watched.core.outlook.coming_in(watched.belief).mean > 8.0
    watched.runs(900, moving=True)
    assert abs(watched.off_l) < 12.0
    assert watched.belief.unmetered_l_min == pytest.approx(0.0, abs=0.5)
    watched.runs(90)
    assert abs(watched.off_l) < 12.0
    assert not watched.stands("dry-soon")
    watched.runs(240, tap=15.0)  # another tap is found anew
    assert watched.core.outlook.coming_in(watched.belief).mean > 8.0


def test_water_that_still_swings_after_a_move_is_no_level():
    watched = Watched(140.0).runs(60)
    watched.runs(120, moving=True)
    watched.runs(10, level_m=0.08)  # at the sensor, in the first seconds after the stop
    assert not watched.stands("dry")
    assert abs(watched.off_l) < 12.0
    watched.runs(60)
    assert abs(watched.off_l) < 12.0


def test_a_critical_alarm_is_never_shelved():
    watched = Watched(250.0).runs(60)
    drained_until(watched, "dry-soon", "Rides")
    with pytest.raises(Refused, match="critical"):
        watched.core.acts.check(Act(watched.at, "shelve", "Ann", "dry-soon", {"minutes": 5}))
    watched.does("shelve", "dry-soon", minutes=5)  # and in a recording it changes nothing
    watched.runs(2)
    assert watched.state("dry-soon") == "unacknowledged"


def test_another_is_shelved_and_comes_back():
    watched = Watched(190.0).runs(60)
    assert watched.stands("water-low")
    watched.does("shelve", "water-low", minutes=5)
    watched.runs(60)
    assert watched.state("water-low") == "shelved"
    watched.runs(300)
    assert watched.stands("water-low")


def test_checking_an_act_changes_nothing():
    watched = Watched(190.0).runs(60)
    watched.core.acts.check(Act(watched.at, "acknowledge", "Ann", "water-low"))
    assert watched.state("water-low") == "unacknowledged"
    watched.does("acknowledge", "water-low")
    assert watched.state("water-low") == "acknowledged"


def test_filling_past_the_meter_raises_no_doubt_in_the_meter():
    watched = Watched(300.0).runs(120)
    watched.does("filling-past-meter")
    watched.volume_l += 2.0
    watched.runs(400, leak=-20.0)
    assert "supply-signal" not in watched.raised()
    assert abs(watched.off_l) < 3.0 * watched.belief.volume_sd_l


def test_dumping_is_no_leak():
    watched = Watched(900.0).runs(120)
    watched.does("dumping")
    watched.runs(400, leak=60.0)
    assert "leak" not in watched.raised()
    assert abs(watched.off_l) < 3.0 * watched.belief.volume_sd_l


def test_while_the_rig_is_laid_up_only_what_says_stop_is_said():
    watched = Watched(190.0).runs(60)
    assert watched.stands("water-low")
    watched.does("laid-up")
    watched.runs(60, leak=3.0, silent=("inlet",))
    assert watched.state("water-low") == watched.state("node-lost") == "suppressed by design"
    assert standing(watched.core, watched.at)["laid_up"] is True
    assert Core(rig(), watched.core.save()).judge.laid_up
    watched.runs(900, leak=10.0, silent=("inlet",))
    said = [one["alarm"] for one in watched.core.board.standing() if one["state"] == "unacknowledged"]
    assert said == ["dry-soon", "dry"]  # a tank that ran empty is said whatever was touched


def test_an_engine_that_runs_ends_the_laying_up():
    watched = Watched(190.0).runs(60)
    watched.does("laid-up")
    watched.runs(10)
    assert watched.state("water-low") == "suppressed by design"
    watched.runs(10, running=("Rides",))
    assert watched.stands("water-low")


# -- a level that stands -----------------------------------------------------------------------------------------------


def test_a_level_that_trembles_and_does_not_follow_is_a_starved_pump_first():
    """The pump draws, the tap gives: the water must move, and the gauge only trembles."""
    watched = Watched(500.0).runs(120, "Rides", tap=18.0)
    for _ in range(12):
        for drawing in (("Rides", "Stalls"), ("Stalls",)):
            for _ in range(70):
                watched.runs(1, *drawing, tap=18.0, level_m=0.492 + watched.random.gauss(0, 0.001))
    raised = watched.raised()
    assert "pump-starved" in raised
    first = raised.index("pump-starved")
    assert "level-signal" not in raised[:first]
    assert {one["variant"] for one in watched.core.board.standing() if one["alarm"] == "pump-starved"} == {
        "level trembles"
    }


def test_an_echo_is_no_jump_and_a_jump_is_not_laid_to_the_meter():
    """A steady false echo lasts 18 s at most; a level that stays elsewhere has jumped, and nothing else is named."""
    watched = Watched(600.0).runs(300, "Rides", tap=15.0)

    def stands_elsewhere(for_s):
        for _ in range(for_s):
            height_m = watched.volume_l / 1000.0 + 0.1 + watched.random.gauss(0, 0.002)
            watched.runs(1, "Rides", tap=15.0, level_m=height_m)

    stands_elsewhere(18)
    watched.runs(120, "Rides", tap=15.0)
    assert "level-signal" not in watched.raised()
    stands_elsewhere(240)
    assert "level-signal" in watched.raised()
    assert "supply-signal" not in watched.raised()


def test_a_tap_shut_while_the_level_stands_is_not_laid_to_the_meter():
    """Just before, much of the flow was not accounted for: the level had begun to stand, and nobody had said so yet."""
    watched = Watched(600.0).runs(300, "Rides", "Stalls", tap=40.0)
    height_m = watched.volume_l / 1000.0
    for k in range(240):
        drawing, tap = (("Stalls",), 40.0) if k < 150 else ((), 0.0)
        watched.runs(1, *drawing, tap=tap, level_m=height_m + watched.random.gauss(0, 0.003))
    assert "supply-lost" in watched.raised()
    assert "supply-signal" not in watched.raised()
