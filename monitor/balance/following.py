"""Does the level follow the water at all? A gauge that stands still may tremble, and so look alive.

Over some minutes the level's changes are held against what meter and pump signals say should have moved it; a slope of
one is a level that follows, a slope of nothing one that stands. Asked only where signals say which pumps draw.
"""

import math
from collections import deque
from typing import NamedTuple

BUCKET_S = 10.0
LAG = 3  # changes over half a minute
KEPT = 48
STANDS, SHARP, SURE_SD = 0.35, 0.13, 2.5
SLOSH = 1.9


class _Point(NamedTuple):
    level_l: float
    moved_l: float


class Following:
    """Told of each second; `stands` when the level surely does not follow."""

    def __init__(self) -> None:
        self._points: deque[_Point] = deque(maxlen=KEPT)
        self._moved_l = 0.0
        self._levels: list[float] = []
        self._since = 0.0
        self.stands = False

    def add(self, at: float, level_l: float | None, moved_l: float, noise_l: float) -> None:
        """`moved_l`: what meter and pumps say the water changed by in this second."""
        self._moved_l += moved_l
        if level_l is not None:
            self._levels.append(level_l)
        if at - self._since < BUCKET_S:
            return
        if self._levels:
            self._points.append(_Point(sum(self._levels) / len(self._levels), self._moved_l))
            self._judge(noise_l / math.sqrt(len(self._levels)))
        else:
            self.forget()
        self._levels, self._since = [], at

    def forget(self) -> None:
        """The level was away, or the trailer moved: nothing before may be compared with what follows."""
        self._points.clear()
        self.stands = False

    def _judge(self, noise_l: float) -> None:
        slope, sd = self._slope(noise_l)
        if sd < SHARP:
            self.stands = slope + SURE_SD * sd < STANDS + (STANDS if self.stands else 0.0)

    def _slope(self, noise_l: float) -> tuple[float, float]:
        """How much of the water's changes the level shows, and its sd; changes that overlap count once."""
        points = list(self._points)
        pairs = [(b.moved_l - a.moved_l, b.level_l - a.level_l) for a, b in zip(points, points[LAG:], strict=False)]
        if len(pairs) < 2 * LAG:
            return 1.0, math.inf
        middle = sum(x for x, _ in pairs) / len(pairs)  # a steady flow that nobody counts must not bend the slope
        squares = sum((x - middle) ** 2 for x, _ in pairs)
        if squares <= 0.0:
            return 1.0, math.inf
        return sum((x - middle) * y for x, y in pairs) / squares, SLOSH * noise_l * math.sqrt(2.0 * LAG / squares)
