"""Fill and strap, on an obround tank with waves and a meter that reads high."""

from functools import cache
from random import Random

import pytest
from filling import CAPACITY_L, HEIGHT, WIDTH, believed, bucket_test, fill, obround_l, upright_l

from monitor.calibration.fill import Second, Strapped, strap
from monitor.calibration.unfit import Unfit
from monitor.tank.strapping import Strapping

RUNS = 200
BOX = believed([(0.0, 0.0), (HEIGHT, CAPACITY_L)])
GAIN = 0.01


@cache
def run(seed: int) -> Strapped:
    """A bucket test and a fill: the meter reads 3 % high, the waves are 4 mm. All that was known is the tank's size."""
    rng = Random(seed)
    known = bucket_test(rng, 1.03)
    return strap(fill(rng, 1.03, known.factor, until=0.99), BOX, known.spread, 0.0)


def worst_l(found: Strapped, shape=obround_l, top_m: float = HEIGHT) -> float:
    table = Strapping.of_tank(found.rows, CAPACITY_L)
    return max(abs(table.volume_l(top_m * i / 200) - shape(top_m * i / 200)) for i in range(201))


def holds(found: Strapped) -> bool:
    """The truth lies within the spread at every row."""
    rows = zip(found.rows, found.spreads_l, strict=True)
    return all(abs(volume - obround_l(height)) <= spread for (height, volume), spread in rows)


def test_the_table_is_right_to_one_and_a_half_per_cent_of_capacity_anywhere_and_its_spread_holds_the_truth():
    assert max(worst_l(run(seed)) for seed in range(RUNS)) <= 0.015 * CAPACITY_L
    assert sum(holds(run(seed)) for seed in range(RUNS)) >= 0.95 * RUNS


def test_the_spread_is_no_wider_than_it_has_to_be():
    assert all(max(run(seed).spreads_l) < 0.045 * CAPACITY_L for seed in range(10))
    assert all(run(seed).spreads_l[run(seed).measured // 2] < 0.012 * CAPACITY_L for seed in range(10))


def test_without_a_bucket_test_the_spread_says_so():
    found = strap(fill(Random(1), 1.03, 1.0, until=0.97), BOX, 0.04, 0.0)
    assert worst_l(found) > 0.02 * CAPACITY_L
    assert holds(found)


def test_a_tank_on_its_round_end_with_only_its_size_known():
    found = strap(fill(Random(3), 1.0, 1.0, shape=upright_l, top_m=WIDTH, until=0.99),
                  believed([(0.0, 0.0), (WIDTH, CAPACITY_L)]), GAIN, 0.0)  # fmt: skip
    assert worst_l(found, upright_l, WIDTH) < 0.006 * CAPACITY_L


def test_where_the_fill_ends_short_the_table_before_carries_it_on_and_the_spread_says_so():
    found = strap(fill(Random(4), 1.0, 1.0, until=0.7), BOX, GAIN, 0.0)
    assert found.measured < len(found.rows)
    assert found.rows[-1][1] == pytest.approx(CAPACITY_L)
    assert found.spreads_l[-1] >= 0.03 * CAPACITY_L


def test_a_fill_may_begin_with_water_in_the_tank():
    whole = fill(Random(5), 1.0, 1.0, until=0.99)
    begun = [s for s in whole if s.metered_l > 100.0]
    later = [s._replace(metered_l=s.metered_l - begun[0].metered_l) for s in begun]
    found = strap(later, BOX, GAIN, begun[0].metered_l)
    assert worst_l(found) < 0.012 * CAPACITY_L


def kinked(height_m: float) -> float:
    """A tank that is a third narrower below 0.3 m."""
    return 1000.0 * (min(height_m, 0.3) * 1.0 + max(height_m - 0.3, 0.0) * 1.55)


def test_a_kink_is_found_where_it_is_and_none_in_a_smooth_tank():
    found = strap(fill(Random(6), 1.0, 1.0, shape=kinked, top_m=1.1, until=0.9),
                  believed([(0.0, 0.0), (0.95, CAPACITY_L)]), GAIN, 0.0)  # fmt: skip
    [height] = found.kinks_m
    assert height == pytest.approx(0.3, abs=0.05)
    assert all(not run(seed).kinks_m for seed in range(20))


GOOD = fill(Random(7), 1.0, 1.0, until=0.97)


def without(low: int, high: int) -> list[Second]:
    return [*GOOD[:low], *GOOD[high:]]


def bypassed() -> list[Second]:
    """Somebody puts a second hose in: the meter stands while the level rises."""
    stood = GOOD[800].metered_l
    missed = GOOD[1200].metered_l - stood
    return [s if i < 800 else s._replace(metered_l=stood if i < 1200 else s.metered_l - missed)
            for i, s in enumerate(GOOD)]  # fmt: skip


def dropped() -> list[Second]:
    return [s if i < 900 else s._replace(height_m=s.height_m - 0.08) for i, s in enumerate(GOOD)]


@pytest.mark.parametrize(
    ("seconds", "why"),
    [
        (GOOD[:100], "too-short"), (without(700, 800), "level-was-silent"), (GOOD[:400], "rose-too-little"),
        ([s._replace(metered_l=0.0) for s in GOOD], "meter-counted-nothing"), (dropped(), "level-fell"),
        ([s._replace(metered_l=2 * s.metered_l) for s in GOOD], "more-than-it-holds"),
        (bypassed(), "meter-stood-still"),
    ],
)  # fmt: skip
def test_a_bad_run_is_refused_with_its_reason(seconds, why):
    with pytest.raises(Unfit) as refused:
        strap(seconds, BOX, GAIN, 0.0)
    assert refused.value.why == why
