"""Level against meter against pumps over minutes: nothing explained away."""

from random import Random

import pytest

from monitor.balance.redundancy import Redundancy


def watched(seconds, *, level_l_min=0.0, inflow=0.0, draw=0.0, noise_l=1.0, seed=1, idle=True, lost=()):
    record, random = Redundancy(), Random(seed)
    for second in range(1, seconds + 1):
        level = None if second in lost else 500.0 + level_l_min * second / 60 + random.gauss(0, noise_l)
        record.add(float(second), level, inflow / 60, draw / 60, idle)
    return record


def test_there_is_no_verdict_before_the_window_is_full():
    assert Redundancy().over(30.0, 1.0) is None
    assert watched(20).over(30.0, 1.0) is None
    assert watched(60).over(30.0, 1.0) is not None


@pytest.mark.parametrize("window_s", [30.0, 180.0, 420.0, 900.0])
def test_what_agrees_leaves_nothing(window_s):
    found = watched(1200, level_l_min=-10.0, inflow=12.0, draw=22.0, idle=False).over(window_s, 1.0)
    assert found.off_l == pytest.approx(0.0, abs=4.0 * found.sd_l)
    assert found.fell_l == pytest.approx(10.0 * window_s / 60.0, rel=0.05, abs=4 * found.sd_l)
    assert found.metered_l == pytest.approx(12.0 * window_s / 60.0, rel=0.01)
    assert found.drawn_l == pytest.approx(22.0 * window_s / 60.0, rel=0.01)
    assert not found.idle


def test_a_leak_is_water_that_fell_for_no_reason():
    found = watched(1200, level_l_min=-2.0).over(180.0, 1.0)
    assert found.off_l == pytest.approx(-6.0, abs=4.0 * found.sd_l)
    assert found.idle


def test_a_dead_meter_is_water_that_rose_for_no_reason():
    assert watched(1200, level_l_min=15.0).over(180.0, 1.0).off_l == pytest.approx(45.0, abs=4.0)


def test_its_spread_is_true():
    """Over many seeds the residual's standardised square is what it should be, SLOSH being a margin."""
    squares = []
    for seed in range(200):
        found = watched(300, noise_l=2.0, seed=seed).over(180.0, 2.0)
        squares.append((found.off_l / found.sd_l) ** 2)
    assert 1 / 1.5**2 * 0.75 < sum(squares) / len(squares) < 1.1


def test_seconds_without_a_level_are_bridged_by_the_sums():
    found = watched(400, level_l_min=-22.0, draw=22.0, noise_l=0.1, lost=range(200, 260)).over(300.0, 0.1)
    assert found.off_l == pytest.approx(0.0, abs=4.0 * found.sd_l)


def test_after_a_move_nothing_before_counts():
    record = watched(1200)
    record.forget()
    assert record.over(30.0, 1.0) is None


def test_one_drawing_second_in_the_window_is_not_idle():
    record = watched(300)
    record.add(301.0, 500.0, 0.0, 0.3, False)
    for second in range(302, 330):
        record.add(float(second), 500.0, 0.0, 0.0, True)
    assert not record.over(60.0, 1.0).idle


def test_water_that_runs_slides_and_a_level_that_jumps_does_not():
    for falls, slides in ((lambda t: -1.0 * t, True), (lambda t: -30.0 * (t > 20), False)):
        redundancy = Redundancy()
        for t in range(1, 46):
            redundancy.add(float(t), 500.0 + falls(t), 0.0, 0.0, True)
        assert redundancy.slides() is slides
