"""Every number in an example state agrees with every other, by formulas that the maker of the states doesn't use."""

import json
from itertools import pairwise
from math import isclose
from typing import Any

import pytest
import states_maker
from conftest import NAMES
from fluids.geometry import TANK
from stub_server import DASHBOARDS, load

from monitor.alarms.catalogue import ALARMS

State = dict[str, Any]
HOUR_S = 3600.0
ROUNDING_L = 0.2
HOLDS_L_MIN = 0.6


@pytest.fixture(params=NAMES)
def state(request: pytest.FixtureRequest) -> State:
    return load(request.param)


def test_the_files_are_what_the_maker_makes() -> None:
    made = states_maker.all_states()
    assert list(made) == NAMES
    for name, state in made.items():
        assert json.loads(states_maker.written(state)) == load(name), f"run states_maker.py: {name} is old"
    assert {path.stem for path in (DASHBOARDS / "states").glob("*.json")} == {*NAMES, "index"}


def test_the_states_the_page_must_master_are_there() -> None:
    wanted = {"filling", "holding", "falling", "dry-soon", "dry", "level-uncertain", "supply-lost", "no-data"}
    assert wanted | {"first-start", "long-names", "six-pumps", "full", "bypass", "towing", "stale"} <= set(NAMES)


def test_the_keys_are_the_contracts(state: State) -> None:
    keys = {
        "at", "wall", "age_s", "speed", "source", "scenario", "seq", "started_s", "rig", "forecast", "water", "supply",
        "pumps", "advice", "alarms", "signals", "feeds", "rejects", "unknown_names", "dropped", "journal", "notices",
        "horn", "permit", "motion", "packing", "packing_up", "past", "title", "work", "chemical", "tonight",
        "laid_up", "faults",
    }  # fmt: skip
    assert set(state) == keys
    assert set(state["forecast"]) == {
        "volume_l", "volume_sd_l", "inflow_l_min", "net_l_min", "draw_sum_l_min", "draw_l_min", "draw_rate_l_min",
        "dry_s", "dry_if_kept_s", "dry_flat_out_s", "level_quality", "supply_quality",
    }  # fmt: skip


def test_heights_and_volumes_are_one_tank(state: State) -> None:
    """Against fluids.geometry.TANK, which has its own formula for a lying cylinder."""
    rig, water = state["rig"], state["water"]
    inch = 0.0254
    tank = TANK(D=42 * inch, L=54 * inch, horizontal=True)
    heights = rig["heights"]
    low, high = rig["band_l"]
    pairs = [(heights["heel_m"], rig["heel_l"]), (heights["band_m"][0], low), (heights["band_m"][1], high)]
    pairs += [(heights["full_m"], rig["full_l"]), (heights["tow_m"], rig["tow_limit_l"])]
    if water["height_m"] is not None:
        pairs.append((water["height_m"], state["forecast"]["volume_l"]))
    for height_m, volume_l in pairs:
        assert isclose(1000 * tank.V_from_h(height_m), volume_l, abs_tol=ROUNDING_L)
    assert rig["heel_l"] < low < high < rig["full_l"] <= rig["capacity_l"]


def test_the_outline_holds_the_volume_it_shows(state: State) -> None:
    rig = state["rig"]
    rows = rig["outline"]
    assert rows == sorted(rows)
    area_m2 = sum((above - below) * (wide + narrow) / 2 for (below, narrow), (above, wide) in pairwise(rows))
    assert isclose(1000 * area_m2 * 54 * 0.0254, rig["capacity_l"], rel_tol=0.02)
    assert rows[-1][0] == rig["heights"]["top_m"]


def test_flows_add_up(state: State) -> None:
    forecast = state["forecast"]
    assert {p["name"]: p["draw_l_min"] for p in state["pumps"]} == forecast["draw_l_min"]
    assert {p["name"]: p["rate_l_min"] for p in state["pumps"]} == forecast["draw_rate_l_min"]
    draws = list(forecast["draw_l_min"].values())
    if None not in draws:
        assert isclose(sum(draws), forecast["draw_sum_l_min"], abs_tol=0.02)
    parts = [forecast["inflow_l_min"], forecast["draw_sum_l_min"]]
    if forecast["net_l_min"] is not None:
        assert isclose(parts[0] - parts[1], forecast["net_l_min"], abs_tol=0.02)


def test_each_pump_draws_what_its_state_says(state: State) -> None:
    for pump in state["pumps"]:
        draw = pump["draw_l_min"]
        if pump["state"] == "draws":
            assert draw == pump["rate_l_min"] > 0
        else:
            assert draw == (None if pump["state"] == "unknown" else 0.0)


def test_a_line_is_as_long_as_its_hose_takes_at_the_pumps_flow(state: State) -> None:
    """150 ft of 3/8 in hold 0.8606 gal (1 gal = 231 in3): 8.6 s at 6 gpm, 12.9 s at 4 gpm."""
    for pump in state["pumps"]:
        if pump["line_s"] is not None:
            hose_gal = 3.141592653589793 / 4 * 0.375**2 * 150 * 12 / 231
            assert isclose(pump["line_s"], 60 * hose_gal / (pump["rate_l_min"] / 3.785411784), abs_tol=0.06)


def test_the_tap_gives_what_flows_in(state: State) -> None:
    supply, inflow = state["supply"], state["forecast"]["inflow_l_min"]
    assert (supply["state"] == "flowing") == (inflow is not None and inflow > 0)
    if supply["state"] in ("none", "closed"):
        assert inflow == 0.0
    if supply["tap_range_l_min"]:
        low, high = supply["tap_range_l_min"]
        assert low <= supply["tap_l_min"] <= high
        assert inflow == 0.0 or low <= inflow <= high


def test_the_trend_is_that_of_the_net_flow_and_of_the_past(state: State) -> None:
    net, trend = state["forecast"]["net_l_min"], state["water"]["trend"]
    if net is not None:
        assert trend == ("falling" if net < -HOLDS_L_MIN else "rising" if net > HOLDS_L_MIN else "holding")
    points = [(at, volume) for at, volume, _ in state["past"]["points"] if volume is not None]
    if net is None and trend == "falling":
        expected = -(points[-1][1] - state["rig"]["heel_l"]) / (state["forecast"]["dry_s"]["p50"] / 60)
        assert isclose((points[-1][1] - points[-13][1]) / 2, expected, rel_tol=0.1), "it falls as the forecast says"
    if net is not None and len(points) > 20:
        fell_l_min = (points[-1][1] - points[-13][1]) / 2
        assert isclose(fell_l_min, net, abs_tol=0.6), "the last two minutes of the past fall as the net flow says"


def test_the_past_ends_now(state: State) -> None:
    points = state["past"]["points"]
    assert points[-1] == [state["at"], state["forecast"]["volume_l"], state["forecast"]["volume_sd_l"]]
    for (before, _, _), (after, _, _) in pairwise(points):
        assert after - before == state["past"]["step_s"]


def test_times_follow_from_volumes_and_flows(state: State) -> None:
    forecast, rig, water = state["forecast"], state["rig"], state["water"]
    volume, net = forecast["volume_l"], forecast["net_l_min"]
    if net is not None and net < -HOLDS_L_MIN:
        assert isclose(forecast["dry_if_kept_s"] * -net / 60, volume - rig["heel_l"], abs_tol=ROUNDING_L)
    else:
        assert forecast["dry_if_kept_s"] is None
    for key, mark in (("full_in_s", rig["full_l"]), ("band_in_s", rig["band_l"][0])):
        if water[key] is not None:
            assert isclose(volume + water[key] * net / 60, mark, abs_tol=ROUNDING_L)
    if water["trend"] != "rising":
        assert water["full_in_s"] is None


def test_flat_out_is_no_slower_than_now(state: State) -> None:
    forecast = state["forecast"]
    flat, kept = forecast["dry_flat_out_s"], forecast["dry_if_kept_s"]
    if flat is not None and kept is not None:
        assert flat <= kept + 0.1
    used = [p for p in state["pumps"] if p["state"] in ("draws", "bypass")]
    if flat is not None:
        net = forecast["inflow_l_min"] - sum(p["rate_l_min"] for p in used)
        assert isclose(flat * -net / 60, forecast["volume_l"] - state["rig"]["heel_l"], abs_tol=ROUNDING_L)


def test_the_fan_is_ordered_and_holds_the_kept_time(state: State) -> None:
    forecast, dry = state["forecast"], state["forecast"]["dry_s"]
    if dry is None:
        return
    times = [HOUR_S if dry[q] is None else dry[q] for q in ("p05", "p50", "p95")]
    assert times == sorted(times)
    assert all(dry[q] is None or 0 <= dry[q] <= HOUR_S for q in dry)
    kept = forecast["dry_if_kept_s"]
    if kept is not None:
        assert times[0] <= kept
        assert dry["p95"] is None or kept <= dry["p95"]


def test_unknown_is_unknown_throughout(state: State) -> None:
    forecast = state["forecast"]
    if forecast["volume_l"] is None:
        assert forecast["dry_s"] is None
        assert forecast["volume_sd_l"] is None
        assert state["water"]["height_m"] is None
        assert forecast["level_quality"] != "good"
    if state["water"]["trend"] == "falling":
        assert forecast["dry_s"] is not None, "water that falls without a forecast is a failure, no example"


def test_the_advice_is_solved_from_the_same_numbers(state: State) -> None:
    advice = state["advice"]
    if advice is not None:
        {
            "stop_to_hold": _stop_to_hold, "wait_then": _wait_then, "share": _share, "stop_buys": _stop_buys,
            "filling": _filling, "no_supply": _no_supply, "carries_all": _carries_all,
        }.get(advice["say"], _nothing)(state, advice["with"])  # fmt: skip


def test_packing_up_lands_at_the_tow_limit(state: State) -> None:
    """The net flow until the tap is shut, then the pumps alone."""
    packing, forecast = state["packing"], state["forecast"]
    assert packing["tow_limit_l"] == state["rig"]["tow_limit_l"]
    if forecast["volume_l"] is None:
        assert {packing[key] for key in ("shut_tap_in_s", "lasts_s", "lasts_range_s", "volume_then_l")} == {None}
        return
    volume, shut_s = forecast["volume_l"], packing["shut_tap_in_s"]
    if shut_s is not None:
        volume += (forecast["net_l_min"] or 0.0) * shut_s / 60
    assert isclose(packing["volume_then_l"], volume, abs_tol=ROUNDING_L)
    if packing["lasts_s"]:
        volume -= sum(_rates(state).values()) * packing["lasts_s"] / 60
        assert isclose(volume, packing["tow_limit_l"], abs_tol=ROUNDING_L)
        assert packing["lasts_range_s"][0] < packing["lasts_s"] < packing["lasts_range_s"][1]
    elif shut_s is not None and packing["lasts_s"] == 0:
        assert volume <= packing["tow_limit_l"]


def _rates(state: State) -> dict[str, float]:
    return {p["name"]: p["rate_l_min"] for p in state["pumps"] if p["state"] in ("draws", "bypass")}


def _lasts_s(state: State, draw_l_min: float) -> float:
    usable = state["forecast"]["volume_l"] - state["rig"]["heel_l"]
    return 60 * usable / (draw_l_min - state["forecast"]["inflow_l_min"])


def _stop_to_hold(state: State, figures: State) -> None:
    rates, inflow = _rates(state), state["forecast"]["inflow_l_min"]
    assert set(figures["stop"]) | set(figures["keep"]) == set(rates)
    assert sum(rates[name] for name in figures["keep"]) <= inflow + 0.5 < sum(rates.values())
    assert isclose(figures["volume_l"], state["forecast"]["volume_l"], abs_tol=ROUNDING_L)


def _wait_then(state: State, figures: State) -> None:
    there = state["forecast"]["volume_l"] + state["forecast"]["inflow_l_min"] * figures["wait_s"] / 60
    assert isclose(there, figures["volume_l"], abs_tol=ROUNDING_L)
    assert figures["volume_l"] == state["rig"]["band_l"][0]


def _share(state: State, figures: State) -> None:
    share = 100 * state["forecast"]["inflow_l_min"] / sum(_rates(state).values())
    assert isclose(figures["percent"], share, abs_tol=0.5)


def _stop_buys(state: State, figures: State) -> None:
    rates = _rates(state)
    rest = sum(rate for name, rate in rates.items() if name not in figures["stop"])
    gains = _lasts_s(state, rest) - _lasts_s(state, sum(rates.values()))
    assert isclose(figures["gains_s"], gains, abs_tol=5)


def _filling(state: State, figures: State) -> None:
    assert not _rates(state)
    there = state["forecast"]["volume_l"] + state["forecast"]["inflow_l_min"] * figures["full_s"] / 60
    assert isclose(there, state["rig"]["full_l"], abs_tol=ROUNDING_L)


def _no_supply(state: State, figures: State) -> None:
    assert state["forecast"]["inflow_l_min"] == 0
    assert isclose(figures["lasts_s"], _lasts_s(state, sum(_rates(state).values())), abs_tol=2)


def _carries_all(state: State, _: State) -> None:
    assert sum(_rates(state).values()) <= state["forecast"]["inflow_l_min"] + 0.5


def _nothing(state: State, figures: State) -> None:
    assert figures == {}
    assert not _rates(state) or state["forecast"]["inflow_l_min"] is None


def test_the_alarms_are_those_the_numbers_ask_for(state: State) -> None:
    standing = {a["alarm"] for a in state["alarms"] if a["state"] in ("unacknowledged", "acknowledged")}
    followers = {name for a in state["alarms"] for name in a["followers"]}
    forecast, rig = state["forecast"], state["rig"]
    volume = forecast["volume_l"]
    if volume is None:
        assert standing == {"node-lost"}
        return
    low = volume < rig["band_l"][0]
    assert low == bool({"water-low", "dry-soon", "dry"} & (standing | followers))
    assert ("dry" in standing) == (volume <= rig["heel_l"])
    flat = forecast["dry_flat_out_s"]
    assert ("dry-soon" in standing) == (flat is not None and 0 < flat < 140)
    assert ("tow-heavy" in standing) == (volume > rig["tow_limit_l"] and (state["motion"] or state["packing_up"]))
    assert ("overfill" in standing) == (volume > rig["full_l"] + 1)
    assert ("level-signal" in standing) == (forecast["level_quality"] != "good")


def test_the_time_to_act_is_that_of_the_water_or_of_the_alarm(state: State) -> None:
    """By the lower bound of the volume, a tenth below which is 1.2816 sd away; else what the catalogue allows."""
    forecast, rig = state["forecast"], state["rig"]
    for alarm in state["alarms"]:
        if alarm["alarm"] not in ("dry-soon", "water-low"):
            assert alarm["time_s"] in (None, ALARMS[alarm["alarm"]].respond_s)
        elif alarm["state"] in ("unacknowledged", "acknowledged"):
            low_l = forecast["volume_l"] - 1.2816 * forecast["volume_sd_l"]
            net = sum(_rates(state).values()) - forecast["inflow_l_min"]
            assert isclose(alarm["time_s"] * net / 60, low_l - rig["heel_l"], abs_tol=2 * ROUNDING_L)
            assert alarm["time_s"] < forecast["dry_flat_out_s"]
        assert alarm["since"] <= state["at"]


def test_no_alarm_is_quiet_for_longer_than_it_may(state: State) -> None:
    for alarm in state["alarms"]:
        assert alarm["shelve_max_s"] == ALARMS[alarm["alarm"]].shelve_max_s
        assert (alarm["shelved_until"] is not None) == (alarm["state"] == "shelved")
        if alarm["shelved_until"] is not None:
            assert state["at"] < alarm["shelved_until"] <= state["at"] + alarm["shelve_max_s"]


def test_the_permit_goes_on_only_where_nothing_stands_against_it(state: State) -> None:
    """It stops on dry, on dry-soon unanswered for half the act time, on a level untrusted, and stays stopped."""
    permit = state["permit"]
    if permit is None:
        return
    assert state["source"] == "live", "never given out beside made-up readings"
    assert permit["on"] == (permit["why"] is None)
    if permit["on"]:
        unseen = {a["alarm"]: state["at"] - a["since"] for a in state["alarms"] if a["state"] == "unacknowledged"}
        assert "dry" not in unseen
        assert unseen.get("dry-soon", 0.0) < state["rig"]["act_time_s"] / 2
        assert state["forecast"]["level_quality"] == "good"
        assert state["notices"]["ok"]


def test_both_kinds_of_permit_are_shown() -> None:
    assert {load(name)["permit"]["on"] for name in NAMES if load(name)["permit"]} == {True, False}


def test_the_level_signal_stands_where_the_water_stands(state: State) -> None:
    level = state["signals"][0]
    if level["value"] is None:
        assert state["forecast"]["volume_l"] is None
    else:
        assert isclose(level["value"], state["water"]["height_m"], abs_tol=1e-4)
    assert state["age_s"] == level["age_s"]
    if level["why"] is None and level["value"] is not None:
        assert level["age_s"] < 5


def test_times_of_pumps_fit_into_the_time_that_passed(state: State) -> None:
    for pump in state["pumps"]:
        assert 0 <= pump["running_s_today"] <= state["started_s"]
        if pump["state_since"] is not None:
            stood_s = state["at"] - pump["state_since"]
            assert pump["bypass_s"] == (stood_s if pump["state"] == "bypass" else 0.0)
    if state["supply"]["since"] is not None:
        assert state["supply"]["since"] <= state["at"]


def test_what_was_used_at_this_job_fits_the_job(state: State) -> None:
    job = state["work"]["job"]
    assert job is None or (job["began"] <= state["wall"] and job["used_l"] >= 0)
