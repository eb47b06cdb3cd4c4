"""What now? Each answer solved from the balance."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.forecast.advice import HOLDS_L_MIN, Advice, InUse, Water, advise, carried

RIDES, STALLS, STANDS = InUse("Rides", 22.7), InUse("Stalls", 15.1), InUse("Stands", 11.4)
ALL = (RIDES, STALLS, STANDS)


def water(volume_l=600.0, inflow_l_min=0.0):
    return Water(volume_l, 113.6, 189.3, 1135.6, inflow_l_min)


CASES = {
    "the tap carries all": (water(inflow_l_min=50.0), ALL, Advice("carries_all", {})),
    "just carries": (water(inflow_l_min=22.5), (RIDES,), Advice("carries_all", {})),
    "even when low": (water(150.0, 50.0), ALL, Advice("carries_all", {})),
    "stop the big one": (
        water(inflow_l_min=27.0), ALL,
        Advice("stop_to_hold", {"stop": ["Rides"], "keep": ["Stalls", "Stands"], "volume_l": 600.0}),
    ),
    "stop all but the big one": (
        water(inflow_l_min=25.0), ALL,
        Advice("stop_to_hold", {"stop": ["Stalls", "Stands"], "keep": ["Rides"], "volume_l": 600.0}),
    ),
    "keep the small one": (
        water(inflow_l_min=12.0), (RIDES, STANDS),
        Advice("stop_to_hold", {"stop": ["Rides"], "keep": ["Stands"], "volume_l": 600.0}),
    ),
    "wait for the band": (
        water(150.0, 15.0), ALL, Advice("wait_then", {"wait_s": pytest.approx(60 * 39.3 / 15), "volume_l": 189.3}),
    ),
    "the tap carries none, one pump": (
        water(inflow_l_min=8.0), (STALLS,), Advice("share", {"percent": pytest.approx(100 * 8.0 / 15.1)}),
    ),
    "the tap carries none, long to go": (
        water(1000.0, 8.0), (STALLS, STANDS), Advice("share", {"percent": pytest.approx(100 * 8.0 / 26.5)}),
    ),
    "the tap carries none, soon dry": (
        water(200.0, 8.0), (RIDES, STALLS),
        Advice("stop_buys", {"stop": ["Rides"], "gains_s": pytest.approx(60 * 86.4 * (1 / 7.1 - 1 / 29.8))}),
    ),
    "no supply": (water(), (RIDES,), Advice("no_supply", {"lasts_s": pytest.approx(60 * 486.4 / 22.7)})),
    "no supply and low": (water(150.0), (RIDES,), Advice("no_supply", {"lasts_s": pytest.approx(60 * 36.4 / 22.7)})),
    "at the heel": (water(100.0), (RIDES,), Advice("no_supply", {"lasts_s": 0.0})),
    "filling": (water(600.0, 20.0), (), Advice("filling", {"full_s": pytest.approx(60 * 535.6 / 20.0)})),
    "full": (water(1135.6, 20.0), (), Advice("full", {})),
    "idle": (water(), (), Advice("idle", {})),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_advice(case):
    now, pumps, expected = CASES[case]
    assert advise(now, pumps) == expected


pumps = st.lists(st.floats(4.0, 40.0), min_size=1, max_size=5).map(
    lambda rates: tuple(InUse(f"pump {k}", rate) for k, rate in enumerate(rates))
)


@given(st.floats(0.0, 120.0), pumps)
def test_what_is_kept_is_the_best_that_the_tap_carries(inflow, pumps):
    """Against trying every set."""
    kept = carried(inflow, pumps)
    sums = [
        total
        for many in range(len(pumps) + 1)
        for some in combinations(pumps, many)
        if (total := sum(p.rate_l_min for p in some)) <= inflow + HOLDS_L_MIN
    ]
    assert sum(p.rate_l_min for p in kept) == pytest.approx(max(sums))


@given(st.floats(0.0, 1200.0), st.floats(0.0, 80.0), pumps)
def test_following_it_works(volume_l, inflow, pumps):
    """It is true of the water: kept pumps do not outrun the tap, the wait ends in the band, the share holds."""
    now = water(volume_l, inflow)
    said = advise(now, pumps)
    rates = {p.name: p.rate_l_min for p in pumps}
    if said.say == "stop_to_hold":
        assert sum(rates[name] for name in said.figures["keep"]) <= inflow + HOLDS_L_MIN
        assert sorted(said.figures["keep"] + said.figures["stop"]) == sorted(rates)
        assert said.figures["stop"]
    elif said.say == "wait_then":
        assert volume_l + inflow * said.figures["wait_s"] / 60 == pytest.approx(said.figures["volume_l"])
    elif said.say == "share":
        assert said.figures["percent"] / 100 * sum(rates.values()) == pytest.approx(inflow)
        assert said.figures["percent"] < 100
    elif said.say == "stop_buys":
        assert said.figures["gains_s"] >= 0
    else:
        assert said.say in ("carries_all", "no_supply")
