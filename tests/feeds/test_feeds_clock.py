"""The daemon's own time line, and the wall clock beside it."""

import pytest

from monitor.feeds.clock import LiveClock, WallWatch
from monitor.readings import WallStep

START = 1795600000.0


class Hand:
    """A clock moved by hand."""

    def __init__(self, now: float) -> None:
        self.now = now

    def __call__(self) -> float:
        return self.now


def test_time_passes_as_fast_as_was_asked() -> None:
    monotonic = Hand(7.0)
    clock = LiveClock(START, 20.0, monotonic)
    monotonic.now += 3.0
    assert clock.now() == START + 60.0


@pytest.mark.parametrize("speed", [0.0, -1.0, float("nan")])
def test_no_clock_stands_or_runs_backward(speed: float) -> None:
    with pytest.raises(ValueError, match="more than 0"):
        LiveClock(START, speed)


def test_a_stepped_wall_clock_is_noted_once_and_moves_nothing() -> None:
    monotonic, wall = Hand(0.0), Hand(START)
    clock = LiveClock(START, 1.0, monotonic)
    watch = WallWatch(clock, wall)
    monotonic.now, wall.now = 10.0, START + 11.0
    assert watch.step() is None, "clocks drift"
    monotonic.now, wall.now = 20.0, START + 86_400.0
    assert watch.step() == WallStep(START + 20.0, START + 86_400.0)
    assert watch.step() is None
    wall.now = START + 20.0
    assert watch.step() == WallStep(START + 20.0, START + 20.0)
    assert clock.now() == START + 20.0


def test_a_story_knows_no_wall_clock() -> None:
    monotonic, wall = Hand(0.0), Hand(START)
    watch = WallWatch(LiveClock(START, 10.0, monotonic), wall)
    monotonic.now = 100.0
    assert watch.step() is None


def test_a_turned_clock_goes_on_where_it_was_and_never_falls() -> None:
    monotonic = Hand(0.0)
    clock = LiveClock(START, 10.0, monotonic)
    for wait_s, speed, from_s, then in [(3.0, 1.0, None, 30.0), (2.0, 200.0, 40.0, 40.0), (1.0, 0.5, 100.0, 240.0)]:
        monotonic.now += wait_s
        clock.turn(speed, None if from_s is None else START + from_s)
        assert clock.now() == START + then
        assert clock.speed == speed
    with pytest.raises(ValueError, match="more than 0"):
        clock.turn(0.0)
    monotonic.now += 2.0
    assert clock.now() == START + 241.0


def test_a_story_that_goes_on_at_the_speed_of_life_is_still_nobody_s_wall_time() -> None:
    monotonic, wall = Hand(0.0), Hand(START)
    clock = LiveClock(START, 10.0, monotonic)
    watch = WallWatch(clock, wall)
    monotonic.now = wall.now = 100.0
    assert watch.step() is None
    clock.turn(1.0)
    assert watch.step() is None


def test_the_time_line_waits_for_a_story_that_falls_behind_and_does_not_leap_after_it() -> None:
    monotonic = Hand(0.0)
    clock = LiveClock(START, 10.0, monotonic)
    clock.told(START + 15.0)
    seen = []
    for told_s in (15.0, 25.0, 60.0):
        monotonic.now += 2.0
        clock.told(START + told_s)
        seen.append(clock.now() - START)
    assert seen == [15.0, 15.0, 25.0]
    monotonic.now += 2.0
    assert clock.now() == START + 45.0
    monotonic.now += 100.0
    assert clock.now() == START + 60.0
    clock.told(float("inf"))
    monotonic.now += 1.0
    assert clock.now() == START + 70.0
