"""Level against meter against pumps over some minutes: what the level did, beside what the other signals say it should.

The filter explains what it can; here nothing is explained away. Ten-second means are kept for twenty minutes, and any
two of them are compared: the level's change, less what the meter passed, plus what the pumps took, should be nothing.
"""

import math
from collections import deque
from typing import NamedTuple

BUCKET_S = 10.0
KEPT = 130
SLOSH = 1.5  # a bucket's readings are not independent: their mean is this much less sharp


class Bucket(NamedTuple):
    at: float
    level_l: float
    metered_l: float
    drawn_l: float
    idle: bool
    readings: int


class Residual(NamedTuple):
    """Over a window: the level's change less what was metered plus what was drawn (l), and its sd (l)."""

    off_l: float
    sd_l: float
    fell_l: float
    metered_l: float
    drawn_l: float
    idle: bool
    """No pump drew in the whole window."""


class Redundancy:
    """Ten-second means of level, metered water and drawn water."""

    def __init__(self) -> None:
        self.buckets: deque[Bucket] = deque(maxlen=KEPT)
        self._metered_l = self._drawn_l = 0.0
        self._sums = [0.0, 0.0, 0.0]
        self._count, self._idle, self._since = 0, True, 0.0

    def add(self, at: float, level_l: float | None, metered_l: float, drawn_l: float, idle: bool) -> None:
        """One second: the level as a volume, if there is one, and the water that moved in it."""
        self._metered_l += metered_l
        self._drawn_l += drawn_l
        self._idle = self._idle and idle
        if level_l is not None:
            for k, value in enumerate((level_l, self._metered_l, self._drawn_l)):
                self._sums[k] += value
            self._count += 1
        if at - self._since >= BUCKET_S:
            self._close(at)

    def _close(self, at: float) -> None:
        if self._count >= 1:
            level, metered, drawn = (s / self._count for s in self._sums)
            self.buckets.append(Bucket(at - BUCKET_S / 2, level, metered, drawn, self._idle, self._count))
        self._sums, self._count, self._idle, self._since = [0.0, 0.0, 0.0], 0, True, at

    def forget(self) -> None:
        """The level stands elsewhere (a move, a jump): nothing before may be compared with what follows."""
        self.buckets.clear()
        self._sums, self._count, self._idle = [0.0, 0.0, 0.0], 0, True

    def over(self, window_s: float, noise_l: float) -> Residual | None:
        """The newest mean against the one `window_s` earlier, or None while the record is shorter."""
        if len(self.buckets) < 2 or self.buckets[-1].at - self.buckets[0].at < window_s - BUCKET_S / 2:
            return None
        new = self.buckets[-1]
        back = int(window_s / BUCKET_S) + 1
        window = [b for b in list(self.buckets)[-back - 2 :] if b.at >= new.at - window_s - BUCKET_S / 2]
        old = window[0]
        metered, drawn, fell = new.metered_l - old.metered_l, new.drawn_l - old.drawn_l, old.level_l - new.level_l
        sd = SLOSH * noise_l * math.sqrt(1.0 / new.readings + 1.0 / old.readings)
        return Residual(-fell - metered + drawn, sd, fell, metered, drawn, all(b.idle for b in window))
