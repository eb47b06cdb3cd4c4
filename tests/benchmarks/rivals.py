"""What one would do without the daemon: simple rules on level, nominal draw and inflow, every ten seconds.

They are given the level as the daemon converts it (the typical reading of six seconds), so that only the method
differs.
"""

import math
from collections import deque
from typing import NamedTuple

from tests.benchmarks.scores import Span, spans_of

LOW_SHARE = 0.18
WARN_S, CLEAR = 140.0, 1.4
CLEAR_AFTER = 3
NAMES = ("level over nominal draw", "nominal draw - inflow", "straight line, 60 s", "straight line, 300 s")
FIXED = "fixed low level"


class Seen(NamedTuple):
    """What a rival sees at one time. `running_l_min`: nominal draw of the pumps in use, or of all."""

    at_s: float
    level_l: float
    all_l_min: float
    running_l_min: float
    inflow_l_min: float


class Rivals:
    """Points in s to the heel at each time, and warnings at a shift's end."""

    def __init__(self, heel_l: float, capacity_l: float) -> None:
        self.heel_l, self.capacity_l = heel_l, capacity_l
        self._past: deque[tuple[float, float]] = deque(maxlen=31)
        self._rules = {name: Rule() for name in (FIXED, *NAMES)}

    def look(self, seen: Seen) -> list[float]:
        """The point forecast of each of `NAMES`, infinite where it sees no end."""
        self._past.append((seen.at_s, seen.level_l))
        usable = seen.level_l - self.heel_l
        lines = [_slope_l_min(list(self._past)[-many:]) for many in (7, 31)]
        nets = [-seen.all_l_min, seen.inflow_l_min - seen.running_l_min, *lines]
        points = [_time_s(usable, net) for net in nets]
        self._rules[FIXED].note(seen.at_s, seen.level_l / self.capacity_l, LOW_SHARE, LOW_SHARE * 1.1)
        for name, point in zip(NAMES, points, strict=True):
            self._rules[name].note(seen.at_s, point, WARN_S, CLEAR * WARN_S)
        return points

    def warnings(self, end_s: float) -> dict[str, list[Span]]:
        return {name: spans_of(rule.states, end_s) for name, rule in self._rules.items()}


class Rule:
    """Raises under one mark at once, clears over another when it has lasted."""

    def __init__(self) -> None:
        self.states: list[tuple[float, bool]] = []
        self._on, self._over = False, 0

    def note(self, at_s: float, value: float, raise_under: float, clear_over: float) -> None:
        self._over = self._over + 1 if value > clear_over else 0
        self._on = value < raise_under or (self._on and self._over < CLEAR_AFTER)
        self.states.append((at_s, self._on))


def _time_s(usable_l: float, net_l_min: float) -> float:
    if usable_l <= 0.0:
        return 0.0
    return 60.0 * usable_l / -net_l_min if net_l_min < -0.05 else math.inf


def _slope_l_min(points: list[tuple[float, float]]) -> float:
    """Least squares."""
    n = len(points)
    if n < 2:
        return 0.0
    mt, mv = sum(t for t, _ in points) / n, sum(v for _, v in points) / n
    across = sum((t - mt) ** 2 for t, _ in points)
    return 60.0 * sum((t - mt) * (v - mv) for t, v in points) / across
