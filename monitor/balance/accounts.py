"""The water's accounts while no pump draws: does the level rise by what the meter counts, and by nothing else?

Over stretches in which the pumps' own signals say that none draws, the level (as a volume y) less the water metered
(m) is a straight line of time and meter:  y − m = c + e·t + g·m + noise.  e is water that goes past the meter or a
level that creeps (l/min); g is what the meter misses, as a share of what it counts. Each stretch has a constant of its
own (tilt, what was drawn in between), so nothing a pump did wrong can enter. Ordinary least squares with the constants
swept out (Frisch and Waugh, Econometrica 1, 1933); what was learned fades with the time spent idle. A meter in order
is good to a few per cent, and that much of g is never spoken of.

How noisy a stretch is, it says itself: by the successive differences of its ten-second means, which no slope bends
(von Neumann, Annals of Mathematical Statistics 12, 1941). Before it has enough of them, the sensor's usual noise counts
with them, slosh and all.
"""

import math
from typing import NamedTuple

SHORT_S, LONG_S = 180.0, 1500.0  # of idle time: how long what was seen is remembered
LEAST_S = 20.0  # a shorter stretch says nothing
KNOWN_GAIN = 0.03  # sd of a sound meter's gain
CORRELATED = 1.9  # readings a second apart share slosh: their sd counts so many times
BLOCK, USUAL_BLOCKS = 10, 4.0


class Sums(NamedTuple):
    """Centred sums of squares and products of time (min), meter (l) and level less meter (l), over the noise."""

    tt: float = 0.0
    tm: float = 0.0
    mm: float = 0.0
    ty: float = 0.0
    my: float = 0.0

    def plus(self, other: "Sums") -> "Sums":
        tt, tm, mm, ty, my = other
        return Sums(self.tt + tt, self.tm + tm, self.mm + mm, self.ty + ty, self.my + my)

    def times(self, share: float) -> "Sums":
        return Sums(share * self.tt, share * self.tm, share * self.mm, share * self.ty, share * self.my)


class Estimate(NamedTuple):
    """What is not accounted for. Flows in l/min, gains as shares; each sd with the other unknown let free."""

    l_min: float
    """The flow, the meter taken for sound."""
    sd_l_min: float
    free_l_min: float
    """The flow beside any gain."""
    free_sd_l_min: float
    gain: float
    """The gain beside any flow."""
    gain_sd: float
    flow_l_min: float
    """What the meter counted meanwhile."""


class Stretch:
    """One stretch without a pump, from its first level on."""

    def __init__(self) -> None:
        self.n = 0
        self._begun = 0.0
        self._m_l = 0.0
        self._sums = [0.0] * 8  # t, m, y, tt, tm, mm, ty, my
        self._own = Differences()

    def add(self, at: float, metered_l: float, seen_l: float | None) -> None:
        """`metered_l`: what passed in this second."""
        if self.n == 0:
            if seen_l is None:
                return
            self._begun, self._first_l = at, seen_l
        else:
            self._m_l += metered_l
        if seen_l is None:
            return
        self.n += 1
        t, m = (at - self._begun) / 60.0, self._m_l
        y = seen_l - self._first_l - m
        for k, term in enumerate((t, m, y, t * t, t * m, m * m, t * y, m * y)):
            self._sums[k] += term
        self._own.add(y)

    def sums(self, var_l2: float) -> Sums:
        """`var_l2`: the sensor's usual noise."""
        if self.n < LEAST_S:
            return Sums()
        n = float(self.n)
        t, m, y, tt, tm, mm, ty, my = self._sums
        centred = Sums(tt - t * t / n, tm - t * m / n, mm - m * m / n, ty - t * y / n, my - m * y / n)
        return centred.times(1.0 / self._own.var_l2(CORRELATED**2 * max(var_l2, 0.05)))


class Differences:
    """Noise by the successive differences of means of ten."""

    def __init__(self) -> None:
        self._sum_l, self._in_block = 0.0, 0
        self._last_l: float | None = None
        self._n, self._d, self._dd = 0, 0.0, 0.0

    def add(self, level_l: float) -> None:
        self._sum_l, self._in_block = self._sum_l + level_l, self._in_block + 1
        if self._in_block < BLOCK:
            return
        mean_l, self._sum_l, self._in_block = self._sum_l / BLOCK, 0.0, 0
        if self._last_l is not None:
            apart = mean_l - self._last_l
            self._n, self._d, self._dd = self._n + 1, self._d + apart, self._dd + apart * apart
        self._last_l = mean_l

    def var_l2(self, usual_l2: float) -> float:
        """Of one reading, as if readings were independent; `usual_l2` counts as so many blocks' worth."""
        if self._n < 2:
            return usual_l2
        own = BLOCK * (self._dd - self._d * self._d / self._n) / 2.0
        return (USUAL_BLOCKS * usual_l2 + own) / (USUAL_BLOCKS + self._n - 1)


class Accounts:
    """Told of each second; estimates over a short and a long memory."""

    def __init__(self) -> None:
        self.short, self.long = Sums(), Sums()
        self._stretch = Stretch()
        self._var_l2 = 1.0

    def add(self, at: float, seen_l: float | None, metered_l: float, var_l2: float, idle: bool) -> None:
        """`seen_l`: this second's level as a volume where it may be believed; `idle`: surely no pump draws."""
        if not idle:
            self.close()
            return
        self._var_l2 = var_l2
        self._stretch.add(at, metered_l, seen_l)
        if self._stretch.n:
            self.short = self.short.times(math.exp(-1.0 / SHORT_S))
            self.long = self.long.times(math.exp(-1.0 / LONG_S))
        if self._stretch.n >= 300:  # a long rest goes into memory piece by piece, so that it fades too
            self.close()

    def close(self) -> None:
        """The stretch is over: a pump draws, or the level is not to be used."""
        if self._stretch.n:
            sums = self._stretch.sums(self._var_l2)
            self.short, self.long = self.short.plus(sums), self.long.plus(sums)
            self._stretch = Stretch()

    def drop(self) -> None:
        """The level was moved in this stretch (a jump, a tilt): it says nothing."""
        self._stretch = Stretch()

    def forget(self) -> None:
        """All of it: somebody mended something, or looked."""
        self.short, self.long = Sums(), Sums()
        self.drop()

    def estimates(self) -> tuple[Estimate | None, Estimate | None]:
        """Over the short and the long memory; None where too little is known."""
        now = self._stretch.sums(self._var_l2)
        return estimate(self.short.plus(now)), estimate(self.long.plus(now))


def estimate(sums: Sums) -> Estimate | None:
    """Flow and gain that fit best. None before anything has been seen."""
    if sums.tt <= 0.0:
        return None
    prior = 1.0 / KNOWN_GAIN**2
    mm = sums.mm + prior
    known = sums.tt * mm - sums.tm**2
    flow = (sums.ty * mm - sums.my * sums.tm) / known
    free = sums.tt * (sums.mm + 1e-3) - sums.tm**2 + 1e-9  # a gain of any size: its sd is some 30
    free_flow = (sums.ty * (sums.mm + 1e-3) - sums.my * sums.tm) / free
    gain = (sums.my * sums.tt - sums.ty * sums.tm) / free
    return Estimate(
        flow, math.sqrt(mm / known), free_flow, math.sqrt((sums.mm + 1e-3) / free), gain, math.sqrt(sums.tt / free),
        sums.tm / sums.tt,
    )  # fmt: skip
