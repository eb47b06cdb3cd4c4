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
