"""Does the level stand while water surely comes in? A gauge may tremble about one height, and so look alive.

Where by their own signals no pump draws, water that is metered must raise the level: over a minute and more the
level's own straight line (least squares through ten-second medians) is held against what the meter counted. A slope
within a seventh of nothing, known to a twelfth of the flow, is no rise: that is ten of its sd away, which a line of
seven points errs by about once in 10,000 (Student's t, 5 degrees of freedom). A leak, or a meter that counts what is
not there, would have to take just what the tap gives.

Where a pump may draw and no signal tells, it may take just what comes in for many minutes, and the level says nothing.
"""

import math
from collections import deque
from collections.abc import Callable
from itertools import pairwise
from statistics import linear_regression, median
from typing import Literal, NamedTuple

BUCKET_S = 10.0
LEAST_FLOW_L_MIN = 3.0
AT_REST, MAY, MOVES = (7, 9, 12, 18, 30), (5, 9, 18), 6  # buckets
FLAT, KNOWN = 0.15, 0.08  # of the metered flow
MAY_SD, RISES_SD = 2.5, 3.0
BENT, BENT_ROUGH = 1.2, 2.0
MOVES_SD, MOVES_SHARE = 5.0, 0.5
THIRD = 0.15  # of the water in each third of a span: a meter's report after a silence is no flow

Says = Literal["", "may", "stands"]


class Point(NamedTuple):
    level_l: float
    metered_l: float
    rests: bool
    var_l2: float
    """Of the median, by the successive differences of its readings."""


class Drawn(NamedTuple):
    """The level's own line over a span. Flows in l/min."""

    slope_l_min: float
    sd_l_min: float
    straight: float
    rough: float
    flow_l_min: float
    metered_l: float
    even: bool


class Standstill:
    """Told of each second; looks whenever ten of them are over."""

    def __init__(self) -> None:
        self.says: Says = ""
        self._points: deque[Point] = deque(maxlen=max(AT_REST))
        self._levels: list[float] = []
        self._metered_l, self._since = 0.0, -math.inf
        self._rests = True

    @property
    def stands(self) -> bool:
        return self.says == "stands"

    def forget(self) -> None:
        """The trailer moved: another place, another height."""
        self.pause()
        self.says = ""

    def pause(self) -> None:
        """The level need not follow for now: what was said stays said."""
        self.says = "stands" if self.says == "stands" else ""
        self._points.clear()
        self._levels, self._rests = [], True

    def add(self, at: float, level_l: float | None, metered_l: float, rests: bool) -> None:
        """`level_l`: a reading of this second, `metered_l`: what passed the meter in it."""
        self._metered_l += metered_l
        self._rests = self._rests and rests
        if level_l is not None:
            self._levels.append(level_l)
        if at - self._since < BUCKET_S:
            return
        if len(self._levels) > 1:
            self._close()
        elif self.says != "stands":
            self._points.clear()
            self.says = ""
        self._levels, self._rests, self._since = [], True, at

    def _close(self) -> None:
        levels = self._levels
        var_l2 = sum((b - a) ** 2 for a, b in pairwise(levels)) / (2.0 * (len(levels) - 1))
        of_median = max(math.pi / 2.0 * var_l2 / len(levels), 1e-6)
        self._points.append(Point(median(levels), self._metered_l, self._rests, of_median))
        self.says = self._judged()

    def _judged(self) -> Says:
        if self.says == "stands":
            return "" if self._moves() else "stands"
        if any(self._flat_at_rest(n) for n in AT_REST):
            return "stands"
        return "may" if self._may() else ""

    def _flat_at_rest(self, n: int) -> bool:
        line = self._line(n, lambda point: point.rests)
        if line is None or line.straight < BENT or line.rough > BENT_ROUGH:  # up and then down is no standing
            return False
        return line.even and _within(line, FLAT) and line.sd_l_min < KNOWN * line.flow_l_min

    def _may(self) -> bool:
        """It does not rise as it should, and may as well stand."""
        lines = [self._line(n, lambda point: point.rests) for n in MAY]
        return any(line is not None and _may_be_flat(line) for line in lines)

    def _moves(self) -> bool:
        """It goes somewhere again: with the water, or by far more than it trembles."""
        line = self._line(MOVES, lambda _: True)
        if line is None or abs(line.slope_l_min) < MOVES_SD * line.sd_l_min:
            return False
        return abs(line.slope_l_min) > MOVES_SHARE * max(line.flow_l_min, LEAST_FLOW_L_MIN)

    def _line(self, n: int, holds: Callable[[Point], bool]) -> Drawn | None:
        points = list(self._points)[-n:]
        if len(points) < n or not all(holds(point) for point in points):
            return None
        times = [k * BUCKET_S / 60.0 for k in range(n)]
        slope, start = linear_regression(times, [point.level_l for point in points])
        left = [point.level_l - start - slope * t for t, point in zip(times, points, strict=True)]
        squares = max(sum(x * x for x in left), 1e-9)
        own = median(point.var_l2 for point in points)
        middle = times[-1] / 2.0
        var = max(squares / (n - 2), own)
        moved = [later.metered_l - before.metered_l for before, later in pairwise(points)]
        third = len(moved) // 3
        thirds = (sum(moved[:third]), sum(moved[third:-third]), sum(moved[-third:]))
        total = sum(moved)
        return Drawn(
            slope, math.sqrt(var / sum((t - middle) ** 2 for t in times)),
            sum((b - a) ** 2 for a, b in pairwise(left)) / squares, math.sqrt(squares / (n - 2) / own),
            total / times[-1], total, min(thirds) > THIRD * total,
        )  # fmt: skip


def _may_be_flat(line: Drawn) -> bool:
    lacks = line.flow_l_min - line.slope_l_min > RISES_SD * line.sd_l_min
    return line.flow_l_min > LEAST_FLOW_L_MIN and lacks and abs(line.slope_l_min) < MAY_SD * line.sd_l_min


def _within(line: Drawn, share: float) -> bool:
    return line.flow_l_min > LEAST_FLOW_L_MIN and abs(line.slope_l_min) < share * line.flow_l_min
