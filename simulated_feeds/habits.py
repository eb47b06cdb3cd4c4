"""How long people hold a trigger, pause, stay at a task and stay away: three families of crew.

"tuning" people vary log-normally around habits of their own; "timetable" people keep to fixed times; "heavy" people
pause after a power law, so that no pause is too long to happen.
"""

from dataclasses import dataclass
from math import log
from random import Random
from typing import Literal, Protocol

Family = Literal["tuning", "timetable", "heavy"]


@dataclass(frozen=True)
class Times:
    """A person's usual times in s."""

    burst_s: float
    pause_s: float
    task_s: float
    away_s: float


class Habits(Protocol):
    def burst_s(self, rng: Random) -> float: ...
    def pause_s(self, rng: Random) -> float: ...
    def task_s(self, rng: Random) -> float: ...
    def away_s(self, rng: Random) -> float: ...


@dataclass(frozen=True)
class Tuning:
    """Log-normal around the usual times, with a spread per person."""

    usual: Times
    spread: float = 0.7

    def _draw(self, rng: Random, median_s: float, least_s: float, most_s: float) -> float:
        return min(max(rng.lognormvariate(log(median_s), self.spread), least_s), most_s)

    def burst_s(self, rng: Random) -> float:
        return self._draw(rng, self.usual.burst_s, 1.0, 600.0)

    def pause_s(self, rng: Random) -> float:
        return self._draw(rng, self.usual.pause_s, 1.0, 300.0)

    def task_s(self, rng: Random) -> float:
        return self._draw(rng, self.usual.task_s, 20.0, 5400.0)

    def away_s(self, rng: Random) -> float:
        return self._draw(rng, self.usual.away_s, 20.0, 3600.0)


@dataclass(frozen=True)
class Timetable:
    """The same times every time."""

    usual: Times

    def burst_s(self, rng: Random) -> float:
        return self.usual.burst_s

    def pause_s(self, rng: Random) -> float:
        return self.usual.pause_s

    def task_s(self, rng: Random) -> float:
        return self.usual.task_s

    def away_s(self, rng: Random) -> float:
        return self.usual.away_s


@dataclass(frozen=True)
class HeavyTailed:
    """Bursts without memory, pauses and absences after Pareto with the given exponent."""

    usual: Times
    exponent: float = 1.4

    def burst_s(self, rng: Random) -> float:
        return max(rng.expovariate(1 / self.usual.burst_s), 1.0)

    def pause_s(self, rng: Random) -> float:
        return min(self.usual.pause_s * 0.5 * rng.paretovariate(self.exponent), 2400.0)

    def task_s(self, rng: Random) -> float:
        return max(rng.expovariate(1 / self.usual.task_s), 15.0)

    def away_s(self, rng: Random) -> float:
        return min(self.usual.away_s * 0.5 * rng.paretovariate(self.exponent), 5400.0)


def habits(family: Family, usual: Times, spread: float = 0.7, exponent: float = 1.4) -> Habits:
    """The habits of one person of that family."""
    if family == "timetable":
        return Timetable(usual)
    return HeavyTailed(usual, exponent) if family == "heavy" else Tuning(usual, spread)
