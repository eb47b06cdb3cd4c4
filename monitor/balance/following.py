"""Does the level follow the water at all? A gauge that stands still may tremble, and so look alive.

Over some minutes the level's changes are held against what meter and pump signals say should have moved it; a slope of
one is a level that follows, a slope of nothing one that stands. Sooner seen, and as sure: over minutes in which the
water went up and down by five times the level's own noise and more, the level went a third as far. Asked only where
signals say which pumps draw.
"""

import math
from collections import deque
from itertools import pairwise
from statistics import linear_regression, median
from typing import NamedTuple

BUCKET_S = 10.0
LAG = 3  # changes over half a minute
KEPT = 96
STANDS, SHARP, SURE_SD = 0.35, 0.13, 2.5
SLOSH = 1.9
SPANS = (24, 48, 96)
STOOD, HALF, WENT_SD = 0.35, 0.6, 5.0  # noise alone makes 0.2 of five sd
TREMBLES_SD = 1.6  # noise alone has a greater spread about its line in one of a thousand spans of 24 (chi-square)


class _Point(NamedTuple):
    level_l: float
    moved_l: float
    var_l2: float
    """Of the level's median over the bucket, by the successive differences of its readings."""


class _Went(NamedTuple):
    share: float
    """Of the water's way."""
    trembles: bool
    """Its own noise is all that is to be seen of the level: one that is held up at the brim goes down at least."""


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
        if len(self._levels) > 1:
            var_l2 = sum((b - a) ** 2 for a, b in pairwise(self._levels)) / (2.0 * (len(self._levels) - 1))
            of_median = max(math.pi / 2.0 * var_l2 / len(self._levels), 1e-6)
            self._points.append(_Point(median(self._levels), self._moved_l, of_median))
            self._judge(noise_l / math.sqrt(len(self._levels)))
        else:
            self.forget()
        self._levels, self._since = [], at

    def resume(self, at: float, stands: bool) -> None:
        """What was found out before a restart holds until minutes tell otherwise."""
        self.stands, self._since = stands, at

    def forget(self) -> None:
        """The level was away, or the trailer moved: nothing before may be compared with what follows."""
        self._points.clear()
        self.stands = False

    def pause(self) -> None:
        """For now nobody knows what the water does: what was said stays said."""
        self._points.clear()
        self._levels = []

    def _judge(self, noise_l: float) -> None:
        slope, sd = self._slope(noise_l)
        if sd < SHARP:
            self.stands = slope + SURE_SD * sd < STANDS + (STANDS if self.stands else 0.0)
        went = [went for n in SPANS if (went := self._went(n)) is not None]
        if any(each.share < STOOD and each.trembles for each in went):
            self.stands = True
        elif went and min(each.share for each in went) > HALF:
            self.stands = False

    @property
    def doubtful(self) -> bool:
        """The water went somewhere, and the level did not go half as far."""
        return any((went := self._went(n)) is not None and went.share < HALF for n in SPANS)

    def _went(self, n: int) -> _Went | None:
        """How far the level went about its own straight line, beside how far the water did: over the last `n` buckets.

        None where the water did not go far enough beyond the level's noise. A pump that soaps, or water that nobody
        counts, bends neither line.
        """
        points = list(self._points)[-n:]
        if len(points) < n:
            return None
        level_l, water_l = (_spread([p[k] for p in points]) for k in (0, 1))
        sd_l = math.sqrt(median(p.var_l2 for p in points))
        return _Went(level_l / water_l, level_l < TREMBLES_SD * sd_l) if water_l > WENT_SD * sd_l else None

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


def _spread(values: list[float]) -> float:
    """Root mean square about a straight line: a pump that soaps, or water nobody counts, makes a line of its own."""
    slope, start = linear_regression(range(len(values)), values)
    return math.sqrt(sum((value - start - slope * k) ** 2 for k, value in enumerate(values)) / len(values))
