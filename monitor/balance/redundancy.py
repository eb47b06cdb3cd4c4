"""Level against meter against pumps over some minutes: what the level did, beside what the other signals say it should.

The filter explains what it can; here nothing is explained away. For each second the level, less all that was metered,
plus all that was drawn since the start, should be one constant. Its ten-second medians (no splash or echo shifts one)
are kept for twenty minutes, and any two spans of them are compared.
"""

import math
from collections import deque
from itertools import pairwise
from statistics import linear_regression, median, variance
from typing import NamedTuple

BUCKET_S = 10.0
KEPT = 130
MEDIANS = math.pi / 2.0  # a median's variance over a mean's
SLOSH = 1.9  # a bucket's readings are not independent, and a median is less sharp than a mean
LONG_S = 60.0
SPAN = 3  # buckets at each end of a long window: a steady echo fills one, seldom two
LONGER_S, LONG_SPAN = 150.0, 5


class Bucket(NamedTuple):
    at: float
    constant_l: float
    metered_l: float
    drawn_l: float
    most_l: float
    idle: bool
    readings: int
    rests: bool = False
    var_l2: float = 0.0
    """Of the readings in it."""


class Residual(NamedTuple):
    """Over a window: the level's change less what was metered plus what was drawn (l), and its sd (l)."""

    off_l: float
    sd_l: float
    fell_l: float
    metered_l: float
    drawn_l: float
    most_l: float
    """What pumps may have drawn at the most."""
    idle: bool
    """No pump drew in the whole window."""


class Line(NamedTuple):
    """A straight line through the level less what was metered, whatever pumps drew. Flows in l/min."""

    slope_l_min: float
    sd_l_min: float
    straight: float
    """Von Neumann's ratio of what is left: 2 about a straight line, less where bursts bend it."""
    rough: float
    """What is left, over what the readings' own scatter within ten seconds would leave."""
    metered_l_min: float
    drawn_l: float
    """By pumps that surely or most likely drew."""
    rests: bool
    """By their own signals no pump drew in all of it."""
    lasts_s: float
    """How long a line was asked for."""


class Redundancy:
    """Ten-second medians of what should be constant, with the water metered and drawn so far."""

    def __init__(self) -> None:
        self.buckets: deque[Bucket] = deque(maxlen=KEPT)
        self._metered_l = self._drawn_l = self._most_l = 0.0
        self._constants: list[float] = []
        self._idle, self._rests, self._since = True, True, 0.0
        self._known: dict[float, Residual | None] = {}
        self._lines: dict[float, Line | None] = {}

    def add(
        self, at: float, level_l: float | None, metered_l: float, drawn_l: float, idle: bool, most_l: float = 0.0,
        rests: bool = False,
    ) -> None:  # fmt: skip
        """One second: the level as a volume, if there is one, the water that moved in it, and `most_l`: what pumps may
        have drawn at the most; `rests`: by their own signals none drew."""
        self._metered_l += metered_l
        self._drawn_l += drawn_l
        self._most_l += max(most_l, drawn_l)
        self._idle, self._rests = self._idle and idle, self._rests and rests
        if level_l is not None:
            self._constants.append(level_l - self._metered_l + self._drawn_l)
        if at - self._since >= BUCKET_S:
            self._close(at)

    def _close(self, at: float) -> None:
        self._known.clear()
        self._lines.clear()
        if self._constants:
            middle = at - BUCKET_S / 2
            constant, readings = median(self._constants), len(self._constants)
            moved = (self._metered_l, self._drawn_l, self._most_l)
            var_l2 = _var(self._constants)
            self.buckets.append(Bucket(middle, constant, *moved, self._idle, readings, self._rests, var_l2))
        self._constants, self._idle, self._rests, self._since = [], True, True, at

    def forget(self) -> None:
        """The level stands elsewhere (a move, a jump): nothing before may be compared with what follows."""
        self.buckets.clear()
        self._known.clear()
        self._lines.clear()
        self._constants, self._idle, self._rests = [], True, True

    def slides(self) -> bool:
        """Does the newest half minute or so go evenly one way? Then the level has not jumped: the water runs."""
        newest = [bucket.constant_l for bucket in list(self.buckets)[-4:]]
        steps = [later - before for before, later in pairwise(newest)]
        return len(steps) == 3 and (min(steps) > 0.4 * max(steps) > 0.0 or max(steps) < 0.4 * min(steps) < 0.0)

    def over(self, window_s: float, noise_l: float) -> Residual | None:
        """The newest span against the one `window_s` earlier, or None while the record is shorter.

        Asked each second, it is worked out anew only when a bucket has closed.
        """
        if window_s not in self._known:
            self._known[window_s] = self._compare(window_s, noise_l)
        return self._known[window_s]

    def _compare(self, window_s: float, noise_l: float) -> Residual | None:
        buckets = self.buckets
        span = LONG_SPAN if window_s >= LONGER_S else SPAN if window_s >= LONG_S else 1
        reach_s = window_s + (span - 1) * BUCKET_S  # from the first to the last bucket: the spans' middles lie inside
        if len(buckets) < 2 or buckets[-1].at - buckets[0].at < reach_s - BUCKET_S / 2:
            return None
        earliest = buckets[-1].at - reach_s - BUCKET_S / 2
        back = min(len(buckets), int(reach_s / BUCKET_S) + 2)
        window = [buckets[k] for k in range(-back, 0) if buckets[k].at >= earliest]
        if len(window) < 2 * span:  # the level was silent in between: too little is left to compare
            return None
        old, new = window[:span], window[-span:]
        readings = [sum(b.readings for b in part) for part in (old, new)]
        sd = SLOSH * noise_l * math.sqrt(1.0 / readings[0] + 1.0 / readings[1])
        off = median([b.constant_l for b in new]) - median([b.constant_l for b in old])
        end, begin = new[span // 2], old[span // 2]
        metered, drawn = end.metered_l - begin.metered_l, end.drawn_l - begin.drawn_l
        most = end.most_l - begin.most_l
        return Residual(off, sd, drawn - metered - off, metered, drawn, most, all(b.idle for b in window))

    def line(self, window_s: float) -> Line | None:
        """The straight line through the last `window_s`; None while too short.

        Whether what is left about it is noise alone is told by the mean square of its successive differences over its
        variance (von Neumann, Annals of Mathematical Statistics 12, 1941): 2 for independent noise with an sd of
        2 / sqrt(n), whatever the noise's size, and far less where bursts and pauses bend the line. Bursts as short
        as the buckets escape that, and show in the size of what is left.
        """
        if window_s not in self._lines:
            self._lines[window_s] = self._drawn_through(window_s)
        return self._lines[window_s]

    def _drawn_through(self, window_s: float) -> Line | None:
        since = self.buckets[-1].at - window_s if self.buckets else 0.0
        points = [b for b in self.buckets if b.at > since]
        if len(points) < 0.9 * window_s / BUCKET_S:
            return None
        times = [(b.at - points[0].at) / 60.0 for b in points]
        levels = [b.constant_l - b.drawn_l for b in points]
        slope, start = linear_regression(times, levels)
        left = [y - start - slope * t for t, y in zip(times, levels, strict=True)]
        squares = max(sum(x * x for x in left), 1e-9)
        straight = sum((b - a) ** 2 for a, b in pairwise(left)) / squares
        foreseen = MEDIANS * median(b.var_l2 for b in points) / median(b.readings for b in points)
        rough = math.sqrt(squares / (len(left) - 2) / max(foreseen, 1e-9))
        middle = sum(times) / len(times)
        sd = math.sqrt(squares / (len(left) - 2) / sum((t - middle) ** 2 for t in times))
        metered = (points[-1].metered_l - points[0].metered_l) / max(times[-1], 1e-9)
        drawn = points[-1].drawn_l - points[0].drawn_l
        return Line(slope, sd, straight, rough, metered, drawn, all(b.rests for b in points), window_s)


def _var(values: list[float]) -> float:
    return variance(values) if len(values) > 1 else 0.0
