"""When to shut the tap for the road: what is said, followed in a plain water balance, lands at the tow limit."""

from math import inf, sqrt
from random import Random
from statistics import NormalDist

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from monitor.forecast.packing import ONE_IN_20, Aboard, Packing, packing
from monitor.forecast.passage import Spread

GAL = 3.785411784
TOW_L, HEEL_L = 80 * GAL, 30 * GAL
RIDES, STALLS = Spread(6 * GAL, 0.0), Spread(4 * GAL, 0.0)


def packed(gallons, tap_gpm, drawn_gpm, *in_use, sd_l=0.0, tow_l=TOW_L):
    """What is known for certain, but for the volume."""
    tap = None if tap_gpm is None else Spread(tap_gpm * GAL, 0.0)
    return packing(Aboard(Spread(gallons * GAL, sd_l), tow_l, HEEL_L), tap, drawn_gpm * GAL, in_use)


CASES = {
    "too much aboard: shut it now, 20 gal last 2 min at 10 gpm": (
        packed(100, 4, 10, RIDES, STALLS), (0.0, 120.0, 100),
    ),
    "the same, the tap shut already": (packed(100, 0, 10, RIDES, STALLS), (0.0, 120.0, 100)),
    "the same, nobody knows what the tap gives": (packed(100, None, 10, RIDES, STALLS), (0.0, 120.0, 100)),
    "too much, and nothing that uses it up": (packed(100, 4, 0), (0.0, None, 100)),
    "too much, the triggers closed for now": (packed(100, 4, 0, STALLS), (0.0, 300.0, 100)),
    "room for 20 gal, 4 gpm come in": (packed(60, 4, 0), (300.0, 0.0, 80)),
    "the same, 2 gpm net": (packed(60, 6, 4, STALLS), (600.0, 0.0, 80)),
    "it falls: the tap may stay open": (packed(60, 4, 6, RIDES), (None, 0.0, 60)),
    "room, and nobody knows what comes in": (packed(60, None, 0), (None, 0.0, 60)),
    "just at the limit": (packed(80, 4, 0), (0.0, 0.0, 80)),
    "a limit under the heel: the pumps can't bring it lower": (
        packed(40, 0, 6, RIDES, tow_l=20 * GAL), (0.0, 100.0, 40),
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_by_hand(case: str) -> None:
    said, (shut_s, lasts_s, gallons) = CASES[case]
    assert (said.shut_tap_in_s, said.lasts_s) == (pytest.approx(shut_s), pytest.approx(lasts_s))
    assert said.volume_then_l == pytest.approx(gallons * GAL)


def volumes(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


flows = st.floats(0.0, 60.0)
pumps = st.lists(st.floats(2.0, 40.0), max_size=4)


@given(volumes(0.0, 1500.0), volumes(150.0, 800.0), flows, pumps)
def test_followed_it_lands_at_the_limit(volume_l: float, tow_l: float, tap: float, draws: list[float]) -> None:
    """Known for certain and steady: a plain sum of what comes and goes before and after the tap is shut."""
    aboard = Aboard(Spread(volume_l, 0.0), tow_l, HEEL_L)
    said = packing(aboard, Spread(tap, 0.0), sum(draws), [Spread(draw, 0.0) for draw in draws])
    if said.shut_tap_in_s is None:
        assert volume_l < tow_l, "the tap may stay open"
        assert tap - sum(draws) <= 0.05
        return
    then_l = volume_l + (tap - sum(draws)) * said.shut_tap_in_s / 60
    assert said.volume_then_l == pytest.approx(then_l)
    if said.lasts_s is None:
        assert then_l > tow_l
        assert not draws
    else:
        assert then_l - sum(draws) * said.lasts_s / 60 == pytest.approx(tow_l, abs=1e-6)
        assert said.lasts_range_s == pytest.approx((said.lasts_s, said.lasts_s))


@given(volumes(0.0, 290.0), flows, st.floats(0.0, 40.0), st.floats(0.0, 5.0))
def test_doubt_shuts_it_sooner(volume_l: float, tap: float, sd_l: float, tap_sd: float) -> None:
    sure = packing(Aboard(Spread(volume_l, 0.0), TOW_L, HEEL_L), Spread(tap, 0.0), 0.0, [])
    unsure = packing(Aboard(Spread(volume_l, sd_l), TOW_L, HEEL_L), Spread(tap, tap_sd), 0.0, [])
    assert _soon(unsure) <= _soon(sure) + 1e-6
    assert (unsure.volume_then_l <= TOW_L + 1e-6) or unsure.shut_tap_in_s == 0.0


def _soon(said: Packing) -> float:
    return inf if said.shut_tap_in_s is None else said.shut_tap_in_s


@given(volumes(0.0, 250.0), st.floats(1.0, 60.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0))
def test_one_in_twenty_would_stand_above(volume_l: float, tap: float, sd_l: float, tap_sd: float) -> None:
    """Against the normal law: the volume as the tap is shut, with its spread, stands above the limit with 5 %."""
    said = packing(Aboard(Spread(volume_l, sd_l), TOW_L, HEEL_L), Spread(tap, tap_sd), 0.0, [])
    assume(said.shut_tap_in_s and sd_l + tap_sd > 0.01)
    sd_then_l = sqrt(sd_l**2 + (tap_sd * said.shut_tap_in_s / 60) ** 2)
    assert said.volume_then_l + ONE_IN_20 * sd_then_l == pytest.approx(TOW_L, abs=1e-6)
    assert NormalDist(said.volume_then_l, sd_then_l).cdf(TOW_L) == pytest.approx(0.95, abs=1e-3)


def test_the_range_of_the_rinse_holds_nine_times_in_ten() -> None:
    """Drawn from what is believed: 100 ± 4 gal aboard, pumps known to 5 %."""
    random, tries = Random(3), 4000
    volume, rates = Spread(100 * GAL, 4 * GAL), [Spread(6 * GAL, 0.3 * GAL), Spread(4 * GAL, 0.2 * GAL)]
    said = packing(Aboard(volume, TOW_L, HEEL_L), Spread(0.0, 0.0), 10 * GAL, rates)
    low_s, high_s = said.lasts_range_s
    lasted = [
        60 * (random.gauss(*volume) - TOW_L) / sum(random.gauss(*rate) for rate in rates) for _ in range(tries)
    ]  # fmt: skip
    assert sum(low_s <= each <= high_s for each in lasted) / tries == pytest.approx(0.9, abs=0.02)


def test_asked_again_each_second_it_lands_though_triggers_close_and_open() -> None:
    """Filling at 8 gpm while a 6 gpm gun is used now and then; shut as soon as it says so."""
    random, volume_l, drawing, tap = Random(1), 50 * GAL, True, 8.0
    for _ in range(7200):
        said = packed(volume_l / GAL, tap, 6.0 * drawing, RIDES)
        if said.shut_tap_in_s is not None and said.shut_tap_in_s < 1.0:
            break
        drawing = drawing != (random.random() < 0.05)
        volume_l += (tap - 6.0 * drawing) * GAL / 60
    assert volume_l == pytest.approx(TOW_L, abs=0.6)
