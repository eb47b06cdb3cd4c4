"""The daemon's own time line: wall time at its start plus monotonic time since; a stepped clock moves nothing."""

import time
from collections.abc import Callable
from math import inf
from typing import Protocol

from monitor.readings import WallStep


class Clock(Protocol):
    """What feeds and the daemon ask for the time. Tests bring their own."""

    speed: float
    """Seconds of the time line that pass in one second of real time."""

    def now(self) -> float:
        """Unix seconds on the daemon's own time line; never falls."""

    def turn(self, speed: float, at: float | None = None) -> None:
        """From now on at another speed; the time line goes on where it is, or at a later `at`."""

    def told(self, upto_at: float) -> None:
        """A story has been told so far: no further does the time line go until more of it has."""


class LiveClock:
    """Real time from a given start, or faster: ``LiveClock(speed=20)`` lives a minute in three seconds."""

    def __init__(
        self,
        start: float | None = None,
        speed: float = 1.0,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        """`start` in Unix seconds, the wall clock's reading if left out. Raises ValueError for a speed of 0 or less."""
        self.start = time.time() if start is None else start
        self.speed = _checked(speed)
        self._monotonic = monotonic
        self._line = (self.start, monotonic(), speed, inf)

    def now(self) -> float:
        from_at, since_s, speed, told_at = self._line
        return min(from_at + (self._monotonic() - since_s) * speed, told_at)

    def turn(self, speed: float, at: float | None = None) -> None:
        """From now on at another speed. The time line goes on where it is, or at `at` where that has been told already.

        One thread at a time may turn it; any may ask it meanwhile. Raises ValueError for a speed of 0 or less.
        """
        self.speed = _checked(speed)
        now = self.now()
        self._line = (now if at is None else max(now, at), self._monotonic(), speed, self._line[3])

    def told(self, upto_at: float) -> None:
        """A story has been told so far, and here the time line waits for it if it falls behind; inf ends that.

        A machine too slow for the speed then lives the day more slowly, instead of finding its sensors silent.
        """
        waited = self.now() >= self._line[3]
        from_at, since_s = (self._line[3], self._monotonic()) if waited else self._line[:2]
        self._line = (from_at, since_s, self.speed, upto_at)


def _checked(speed: float) -> float:
    if not speed > 0.0:
        raise ValueError(f"a clock's speed must be more than 0, not {speed:g}")
    return speed


class WallWatch:
    """Notes when the wall clock is stepped against the daemon's own time line, which it moves by nothing."""

    STEP_S = 2.0

    def __init__(self, clock: Clock, wall: Callable[[], float] = time.time) -> None:
        self._clock, self._wall = clock, wall
        self._offset_s = wall() - clock.now()
        self._of_life = True

    def step(self) -> WallStep | None:
        """What the wall clock says now, if it was stepped since the last call.

        A story's time is nobody's wall time, also when it goes on at the speed of life.
        """
        self._of_life = self._of_life and self._clock.speed == 1.0
        if not self._of_life:
            return None
        now = self._clock.now()
        offset_s = self._wall() - now
        if abs(offset_s - self._offset_s) <= self.STEP_S:
            return None
        self._offset_s = offset_s
        return WallStep(now, now + offset_s)
