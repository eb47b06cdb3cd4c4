"""What survives a restart."""

import json

import pytest
from trailer import BEGIN, Watched, drained_until, rig, time_to_dry_s

from monitor.core import Core


def restarted(watched, after_s=20.0, **how):
    """Another core with what the first one saved, through JSON as the state file does."""
    again = Watched(watched.volume_l, saved=json.loads(json.dumps(watched.core.save())), seed=9, **how)
    again.at, again.total_l = watched.at + after_s, watched.total_l
    return again


def test_an_alarm_that_stood_stands_after_and_is_raised_no_second_time():
    watched = Watched(250.0).runs(60)
    drained_until(watched, "dry-soon", "Rides")
    watched.does("acknowledge", "dry-soon")
    again = restarted(watched).runs(30, "Rides")
    assert again.state("dry-soon") == "acknowledged"
    assert "dry-soon" not in again.raised()


def test_an_alarm_that_stood_stands_on_before_anything_is_heard():
    watched = Watched(250.0).runs(60)
    drained_until(watched, "dry-soon", "Rides")
    again = restarted(watched).runs(120, silent=("tank", "inlet", "rides", "stalls"))
    assert again.stands("dry-soon")


def test_the_volume_and_what_was_learned_survive():
    watched = Watched(900.0, rates={"Rides": 19.0, "Stalls": 14.0}).runs(900, "Rides", tap=8.0)
    assert watched.belief.rates_l_min[0] == pytest.approx(19.0, rel=0.03)
    again = restarted(watched, rates={"Rides": 19.0, "Stalls": 14.0}).runs(15)
    assert abs(again.off_l) < 3.0 * again.belief.volume_sd_l
    assert again.belief.rates_l_min[0] == pytest.approx(19.0, rel=0.03)
    assert again.core.balance.tap.l_min == pytest.approx(8.0, rel=0.05)
    assert again.core.crew.save() == watched.core.crew.save()


def test_water_that_passed_the_meter_meanwhile_is_counted():
    watched = Watched(400.0).runs(120)
    again = restarted(watched)
    again.volume_l += 5.0
    again.total_l += 5.0
    again.runs(30)
    assert abs(again.off_l) < 3.0 * again.belief.volume_sd_l


def test_a_tank_filled_while_nobody_watched_is_believed():
    watched = Watched(200.0).runs(120)
    again = restarted(watched, after_s=3600.0)
    again.volume_l = 900.0
    again.runs(10)
    assert abs(again.off_l) < 2.0 * again.belief.volume_sd_l


def test_a_core_that_heard_nothing_forgets_nothing():
    """Restarted twice, the level's node dead in between: what the first day taught is there on the third."""
    first = Watched(900.0, rates={"Rides": 19.0, "Stalls": 14.0}).runs(900, "Rides")
    second = restarted(first).runs(60, silent=("tank",))
    third = restarted(second).runs(15)
    assert third.belief.rates_l_min[0] == pytest.approx(19.0, rel=0.03)
    assert second.core.save()["volume_l"] is not None


def test_a_state_of_another_version_or_another_rig_is_no_harm():
    assert Core(rig(), {"version": 99, "rates_l_min": {"Rides": [1.0, 1.0]}}).balance.rates is None
    saved = Watched(500.0).runs(60).core.save()
    other = Core(rig(rides=('name = "Rides"', 'name = "Big one"')), saved)
    assert other.balance.rates[0][0] == 22.0
    assert other.advance(BEGIN) == []


def test_a_pump_in_use_before_counts_after_too():
    """The time to dry with all triggers held open has it in, though after the restart it has not yet drawn."""
    watched = Watched(500.0).runs(300, "Stalls")
    rests = restarted(watched).runs(30)
    assert rests.core.forecast.dry_flat_out_s == pytest.approx(time_to_dry_s(rests, "Stalls"), rel=0.15)
    again = restarted(rests).runs(600)
    assert again.core.forecast.dry_flat_out_s is None, "ten minutes later it does not"


# -- a stop of seconds ------------------------------------------------------------------------------------------


def test_a_level_that_had_frozen_is_frozen_still_and_the_warning_comes_as_without_a_stop():
    """Over one stop and the next: the volume is carried on by the balance."""
    warned_s = []
    for stops in (0, 2):
        watched = Watched(400.0).runs(120)
        watched.runs(120, "Rides", level_m=0.4)
        for _ in range(stops):
            watched = restarted(watched, after_s=3.0).runs(30, level_m=0.4)
            assert watched.core.judge.level.reason == "frozen"
        warned_s.append(drained_until(watched, "dry-soon", "Rides", level_m=0.4))
    assert warned_s[1] == pytest.approx(warned_s[0], abs=20.0)


def test_a_level_that_had_frozen_and_moves_again_is_believed():
    watched = Watched(400.0).runs(120)
    watched.runs(120, "Rides", level_m=0.4)
    again = restarted(watched, after_s=3.0).runs(10)
    assert again.core.judge.level.quality == "good"
    assert abs(again.off_l) < 3.0 * again.belief.volume_sd_l


def test_without_any_level_after_a_short_stop_the_balance_carries_on_and_after_a_long_one_nobody_knows():
    watched = Watched(300.0).runs(120)
    again = restarted(watched).runs(12, silent=("tank",))
    assert abs(again.off_l) < 3.0 * again.belief.volume_sd_l
    drained_until(again, "dry-soon", "Rides", silent=("tank",))
    assert restarted(watched, after_s=3600.0).runs(60, silent=("tank",)).belief is None


def test_a_false_echo_just_after_a_short_stop_is_not_believed():
    watched = Watched(300.0).runs(120)
    again = restarted(watched, after_s=3.0).runs(15, level_m=0.6)
    assert abs(again.off_l) < 3.0 * again.belief.volume_sd_l


def test_a_bias_that_a_person_found_is_kept_over_a_short_stop():
    """The level reads a hand too high, and somebody looked."""
    watched = Watched(300.0).runs(60, level_m=0.4)
    watched.does("it-stands-here", volume_l=300.0)
    watched.runs(60, level_m=0.4)
    assert watched.belief.volume_l == pytest.approx(300.0, abs=15.0)
    assert restarted(watched).runs(5, level_m=0.4).belief.volume_l == pytest.approx(300.0, abs=20.0)
