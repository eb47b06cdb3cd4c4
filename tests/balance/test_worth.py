"""What a sensor is worth: the law of the time to dry against drawing from it, and what must hold of any rig."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.balance import worth
from monitor.balance.worth import Range, Sensors, Situation, dry_range

RATES = (22.7, 15.1, 11.4)
ALL, NONE = (True, True, True), (False, False, False)
WORK = Situation(500.0, 1400.0, RATES, ALL, 24.6)
ALONE = WORK._replace(at_work=(True, False, False), tap_l_min=11.35)


def test_known_for_certain_it_is_plain_arithmetic() -> None:
    """In the middle of the range: 500 l above the heel, 49.2 l/min drawn, 24.6 coming in."""
    low_s, high_s = dry_range(WORK, Sensors(True, ALL, ALL, 2))
    assert low_s < 60 * 500.0 / 24.6 < high_s
    assert high_s / low_s < 1.15


@pytest.mark.parametrize("situation", [WORK, ALONE])
@pytest.mark.parametrize(
    "by", [Sensors(True, ALL, ALL, 1), Sensors(False, ALL, ALL, 1), Sensors(True, NONE, ALL, 1)], ids=str
)
def test_the_range_is_that_of_times_drawn_from_what_is_known(situation: Situation, by: Sensors) -> None:
    """Volume, flows and set of pumps drawn from the filter's hypotheses with numpy, each time divided out."""
    random, many = np.random.default_rng(5), 200_000
    known = worth._after(situation, by)
    shares = worth._shares(situation, by, working=True)
    times = []
    for hyp in known:
        drawn = random.multivariate_normal(hyp.mean, hyp.cov, max(1, round(many * hyp.weight)), method="eigh")
        table_l = random.normal(0.0, worth.TABLE_SD_M * situation.slope_l_per_m, len(drawn))
        on = [float(hyp.mask >> i & 1) if share is None else share for i, share in enumerate(shares)]
        metered = situation.tap_l_min * by.metered
        falls = drawn[:, 4:] @ np.array(on) - drawn[:, 2] - metered * (1.0 + drawn[:, 3])
        times.append(np.where(falls > 0.0, 60.0 * (drawn[:, 0] + table_l) / np.where(falls > 0.0, falls, 1.0), 1e9))
    low, high = np.quantile(np.minimum(np.concatenate(times), worth.HORIZON_S), (0.05, 0.95))
    assert dry_range(situation, by) == (pytest.approx(low, rel=0.02), pytest.approx(high, rel=0.02))


def test_no_sensor_more_makes_it_worse() -> None:
    """From the level alone, one sensor after the other."""
    steps = (
        Sensors(False, NONE, ALL, 1),
        Sensors(False, ALL, ALL, 1),
        Sensors(True, ALL, ALL, 1),
        Sensors(True, ALL, ALL, 2),
    )
    widths = [dry_range(WORK, by).width_s for by in steps]
    assert all(with_it < without for without, with_it in pairwise(widths))


def test_a_running_signal_tells_most_while_one_pump_works() -> None:
    without, with_it = (dry_range(ALONE, Sensors(True, NONE, running, 1)) for running in (NONE, ALL))
    assert with_it.width_s < 0.5 * without.width_s


@settings(max_examples=25, deadline=None)
@given(
    st.floats(50.0, 4000.0), st.floats(300.0, 6000.0), st.lists(st.floats(4.0, 40.0), min_size=1, max_size=3),
    st.floats(0.0, 0.9), st.booleans(),
)  # fmt: skip
def test_any_rig_has_a_range(usable_l: float, slope: float, draws: list[float], tap: float, metered: bool) -> None:
    every = tuple(True for _ in draws)
    now = Situation(usable_l, slope, tuple(draws), every, tap * sum(draws))
    found = dry_range(now, Sensors(metered, every, every, 1))
    assert isinstance(found, Range)
    assert 0.0 <= found.low_s <= found.high_s <= worth.HORIZON_S
