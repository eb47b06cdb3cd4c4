"""Bucket, two points, draw."""

from random import Random

import numpy as np
import pytest
from filling import Waves, bucket_test
from scipy import stats

from monitor.calibration.bucket import Filling, bucket, quantum_l
from monitor.calibration.draw import Second, draw
from monitor.calibration.fit import bent_at, line, student_95
from monitor.calibration.two_point import Point, two_point
from monitor.calibration.unfit import Unfit


def test_a_k_factor_off_by_seven_per_cent_is_found_within_the_stated_spread():
    """In 95 of 100 tests, as a 95 % spread promises."""
    found = [bucket_test(Random(seed), 1.07) for seed in range(400)]
    assert sum(abs(each.factor * 1.07 - 1.0) <= each.spread for each in found) >= 0.95 * 400
    assert max(each.spread for each in found) < 0.03


@pytest.mark.parametrize("runs", [1, 2, 3, 6])
def test_few_fillings_and_coarse_steps_widen_the_spread(runs):
    found = [bucket_test(Random(seed), 1.07, step_l=0.25, runs=runs) for seed in range(300)]
    assert sum(abs(each.factor * 1.07 - 1.0) <= each.spread for each in found) >= 0.95 * 300
    assert min(each.spread for each in found) > 0.008


def test_the_taps_flow_comes_with_it():
    found = bucket_test(Random(1), 1.0)
    assert found.tap_l_min == pytest.approx(26.4, abs=found.tap_spread_l_min)
    assert bucket([Filling(20.0, 18.9)]).tap_l_min is None


@pytest.mark.parametrize(
    ("fillings", "step_l", "why"),
    [
        ([Filling(0.0, 18.9)], 0.0, "meter-counted-nothing"), ([Filling(1.9, 18.9)], 0.0, "meter-far-off"),
        ([Filling(18.9, 18.9), Filling(21.0, 18.9)], 0.0, "fillings-disagree"),
        ([Filling(19.0, 18.9)], 1.5, "bucket-too-small"),
    ],
)  # fmt: skip
def test_a_bad_bucket_is_refused(fillings, step_l, why):
    with pytest.raises(Unfit) as refused:
        bucket(fillings, step_l)
    assert refused.value.why == why


def test_the_meters_step_is_seen():
    assert quantum_l([0.0, 1.0, 1.0, 2.0, 4.0]) == 1.0
    assert quantum_l([0.0, 0.44, 0.89, 1.33]) == pytest.approx(0.01)
    assert quantum_l([5.0, 5.0]) == 0.0


# -- the mathematics, against libraries of others ---------------------------------------------------------------------


@pytest.mark.parametrize("freedom", [1, 2, 5, 10, 11, 20, 60, 500])
def test_students_t_by_scipy(freedom):
    assert student_95(freedom) == pytest.approx(stats.t.ppf(0.975, freedom), abs=0.01)


def test_lines_and_parabolas_by_numpy():
    rng = Random(1)
    xs = sorted(rng.uniform(100.0, 200.0) for _ in range(50))
    ys = [0.3 - 0.01 * x + 2e-5 * x * x + rng.gauss(0.0, 0.01) for x in xs]
    assert line(xs, ys).slope == pytest.approx(np.polyfit(xs, ys, 1)[0], rel=1e-9)
    value, share = bent_at(xs, ys, 150.0)
    assert value == pytest.approx(np.polyval(np.polyfit(xs, ys, 2), 150.0), rel=1e-7)
    design = np.vander(np.array(xs) - 150.0, 3, increasing=True)
    assert share == pytest.approx(np.linalg.inv(design.T @ design)[0, 0], rel=1e-6)


# -- two points -------------------------------------------------------------------------------------------------------


def test_two_points_give_scale_and_shift_within_the_spread():
    rng, hits = Random(2), 0
    for _ in range(300):
        points = [Point(round(true, 3), 1.04 * true - 0.03 + rng.gauss(0.0, 0.002), 0.002)
                  for true in (0.15 + rng.gauss(0.0, 0.002), 0.85 + rng.gauss(0.0, 0.002))]  # fmt: skip
        found = two_point(points, 1.05)
        truth = (1 / 1.04, 0.03 / 1.04)
        ends = [abs(found.scale * said + found.shift_m - (truth[0] * said + truth[1])) for said in (-0.03, 1.06)]
        hits += max(ends) <= found.spread_m
    assert hits >= 0.93 * 300


def test_one_point_gives_the_shift():
    found = two_point([Point(0.50, 0.53, 0.001)], 1.0)
    assert (found.scale, found.shift_m) == (1.0, pytest.approx(-0.03))


@pytest.mark.parametrize(
    ("points", "why"),
    [([Point(0.5, 0.5, 0.001), Point(0.6, 0.6, 0.001)], "points-too-close"),
     ([Point(0.2, 0.2, 0.001), Point(0.8, 0.3, 0.001)], "level-far-off"),
     ([Point(0.2, 0.2, 0.001), Point(0.8, 0.2, 0.001)], "level-far-off")],
)  # fmt: skip
def test_bad_points_are_refused(points, why):
    with pytest.raises(Unfit) as refused:
        two_point(points, 1.0)
    assert refused.value.why == why


# -- the draw test ----------------------------------------------------------------------------------------------------


def drawn(seed: int, l_min: float = 20.0, seconds: int = 360, l_per_m: float = 1100.0, tap_l_min: float = 0.0,
          pause: bool = False) -> list[Second]:  # fmt: skip
    waves, out, volume_l = Waves(Random(seed), 0.004), [], 700.0
    for second in range(seconds):
        volume_l += (tap_l_min - (0.0 if pause and 120 < second < 200 else l_min)) / 60.0
        height_m = volume_l / l_per_m + waves.next()
        out.append(Second(float(second), height_m, height_m * l_per_m, second * tap_l_min / 60.0))
    return out


def test_the_draw_is_found_within_its_spread():
    found = [draw(drawn(seed)) for seed in range(200)]
    assert sum(abs(each.l_min - 20.0) <= each.spread_l_min for each in found) >= 0.95 * 200
    assert found[0].fell_m == pytest.approx(0.109, abs=0.01)
    assert max(each.spread_l_min for each in found) < 1.0


@pytest.mark.parametrize(
    ("seconds", "why"),
    [(drawn(1, seconds=50), "too-short"), (drawn(1, seconds=100), "fell-too-little"),
     (drawn(1, tap_l_min=3.0), "tap-was-open"), (drawn(1, seconds=500, pause=True), "draw-not-steady")],
)  # fmt: skip
def test_a_bad_draw_test_is_refused(seconds, why):
    with pytest.raises(Unfit) as refused:
        draw(seconds)
    assert refused.value.why == why
