"""What a sensor is worth: how well the time to dry could be known with it, and without.

The filter itself is run through a few made-up minutes in which nothing goes wrong: first all is still and the tap
flows, then the pumps at work draw as they are said to. The level is read without noise, and the filter not told so:
its spreads are then those of any such minutes. Of them follows the range of the time to dry, work and tap going on.

With U the water above the heel (l) and N what it falls by (l/min), both normal and not independent, the chance that
t = U / N is under x is that of  U − x·N < 0,  which is normal too (Fieller, J. R. Statist. Soc. B 16, 1954); where
several sets of pumps may be drawing, their chances add up by weight. What the crew or the tap may do next is not in it.
"""

import math
from functools import lru_cache
from typing import NamedTuple

from monitor.balance.balance import TABLE_SD_M, level_spreads
from monitor.balance.filter import Filter
from monitor.balance.kalman import R0, B, E, G, Hypothesis, V
from monitor.balance.level import START_NOISE_M

STILL_S, WORK_S, STEP_S = 300.0, 600.0, 10.0
HORIZON_S = 4 * 3600.0
UNWATCHED_MOST = 4  # each more doubles the sets of pumps to weigh: with more, a fraction of a second becomes many


class Situation(NamedTuple):
    """Water above the heel (l), dV/dh there (l/m), each pump's draw (l/min), which are at work, the tap (l/min)."""

    usable_l: float
    slope_l_per_m: float
    draws_l_min: tuple[float, ...]
    at_work: tuple[bool, ...]
    tap_l_min: float


class Sensors(NamedTuple):
    """A meter on the inflow or none; for each pump whether a signal tells its draw, or that it runs; the levels."""

    metered: bool
    drawing: tuple[bool, ...]
    running: tuple[bool, ...]
    levels: int


class Range(NamedTuple):
    """5 and 95 % of the time to dry (s); at most the horizon of four hours."""

    low_s: float
    high_s: float

    @property
    def width_s(self) -> float:
        return self.high_s - self.low_s


@lru_cache(maxsize=64)
def dry_range(now: Situation, by: Sensors) -> Range:
    """The range in which the time to dry is known after ten minutes of work."""
    known = _after(now, by)
    return Range(*(_quantile(now, by, known, share) for share in (0.05, 0.95)))


def _after(now: Situation, by: Sensors) -> list[Hypothesis]:
    """The hypotheses after the made-up minutes; the walls are taken as upright about the situation's water."""
    slope, step_min = now.slope_l_per_m, STEP_S / 60.0
    variance = START_NOISE_M**2 * slope * slope / STEP_S  # a reading a second
    volume_l = now.usable_l - _gained_l(now)
    filter_ = Filter(now.draws_l_min, volume_l, slope, variance, level_spreads(by.levels), None, by.metered)
    falls_l_min = sum(draw for draw, works in zip(now.draws_l_min, now.at_work, strict=True) if works)
    for k in range(int((STILL_S + WORK_S) / STEP_S)):
        works = k * STEP_S >= STILL_S
        volume_l += (now.tap_l_min - falls_l_min * works) * step_min
        filter_.step(STEP_S, now.tap_l_min * step_min * by.metered, _shares(now, by, works))
        filter_.see(volume_l, slope, variance)
    return filter_.hypotheses


def _gained_l(now: Situation) -> float:
    """How much more there is at the end of the made-up minutes than at their beginning."""
    drawn = sum(draw for draw, works in zip(now.draws_l_min, now.at_work, strict=True) if works)
    return (now.tap_l_min * (STILL_S + WORK_S) - drawn * WORK_S) / 60.0


def _shares(now: Situation, by: Sensors, working: bool) -> tuple[float | None, ...]:
    """What the signals say of each pump; None where none does."""
    works = [working and at_work for at_work in now.at_work]
    silent = [not drawing for drawing in by.drawing]
    return tuple(None if silent[i] and (works[i] or not by.running[i]) else float(works[i]) for i in range(len(works)))


def _quantile(now: Situation, by: Sensors, known: list[Hypothesis], share: float) -> float:
    """By halving: the chance of being dry within x only grows with x while the water falls."""
    low, high = 0.0, HORIZON_S
    for _ in range(24):
        middle = (low + high) / 2.0
        if sum(hyp.weight * _dry_within(middle / 60.0, now, by, hyp) for hyp in known) < share:
            low = middle
        else:
            high = middle
    return high


def _dry_within(x_min: float, now: Situation, by: Sensors, hyp: Hypothesis) -> float:
    """Φ((x·N − U) / sd(U − x·N)) for one set of pumps."""
    metered = now.tap_l_min * by.metered
    weights = [0.0] * len(hyp.mean)
    weights[V], weights[B], weights[E], weights[G] = 1.0, 0.0, x_min, x_min * metered
    for i, share in enumerate(_shares(now, by, working=True)):
        weights[R0 + i] = -x_min * (float(hyp.mask >> i & 1) if share is None else share)
    left_l = sum(w * m for w, m in zip(weights, hyp.mean, strict=True)) + x_min * metered
    variance = (TABLE_SD_M * now.slope_l_per_m) ** 2
    variance += sum(a * b * hyp.cov[i][j] for i, a in enumerate(weights) for j, b in enumerate(weights))
    return 0.5 * math.erfc(left_l / math.sqrt(2.0 * variance))
