"""The daemon's own time line: wall time at its start plus monotonic time since; a stepped clock moves nothing."""

import time
from collections.abc import Callable
from typing import Protocol

from monitor.readings import WallStep


class Clock(Protocol):
    """What feeds and the daemon ask for the time. Tests bring their own."""

    speed: float
    """Seconds of the time line that pass in one second of real time."""

    def now(self) -> float:
        """Unix seconds on the daemon's own time line; never falls."""


class LiveClock:
    """Real time from a given start, or faster: ``LiveClock(speed=20)`` lives a minute in three seconds."""

    def __init__(
        self,
        start: float | None = None,
        speed: float = 1.0,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        """`start` in Unix seconds, the wall clock's reading if left out. Raises ValueError for a speed of 0 or less."""
        if not speed > 0.0:
            raise ValueError(f"a clock's speed must be more than 0, not {speed:g}")
        self.start = time.time() if start is None else start
        self.speed = speed
        self._monotonic = monotonic
        self._began = monotonic()

    def now(self) -> float:
        return self.start + (self._monotonic() - self._began) * self.speed


class WallWatch:
    """Notes when the wall clock is stepped against the daemon's own time line, which it moves by nothing."""

    STEP_S = 2.0

    def __init__(self, clock: Clock, wall: Callable[[], float] = time.time) -> None:
        self._clock, self._wall = clock, wall
        self._offset_s = wall() - clock.now()

    def step(self) -> WallStep | None:
        """What the wall clock says now, if it was stepped since the last call. A story's time is nobody's wall time."""
        if self._clock.speed != 1.0:
            return None
        now = self._clock.now()
        offset_s = self._wall() - now
        if abs(offset_s - self._offset_s) <= self.STEP_S:
            return None
        self._offset_s = offset_s
        return WallStep(now, now + offset_s)
