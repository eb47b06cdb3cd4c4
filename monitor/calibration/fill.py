"""Fill and strap: the tank is filled through the meter while the level is logged; that makes its strapping table."""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from itertools import pairwise
from math import cos, hypot, pi, sqrt
from statistics import fmean, median
from typing import NamedTuple

from monitor.calibration.fit import bent_at, line, wave_variance
from monitor.calibration.unfit import Unfit

Row = tuple[float, float]

ROWS = 24
LEAST_SECONDS = 240
LEAST_RISE = 0.4
"""Of the table's height: what the level must rise at least."""
MOST_GAP_S = 60.0
FALL_M = 0.03
MUCH = 1.25
"""Of the capacity: more than this through the meter, and meter or capacity are wrong."""
TOGETHER = 3.3
"""All rows lie within so many standard errors of the level at once, 19 times in 20: 24 rows, Bonferroni."""
KINK = 0.12


class Second(NamedTuple):
    """One second of a fill: when, the height the sensor says, litres metered since the start."""

    at_s: float
    height_m: float
    metered_l: float


class Before(NamedTuple):
    """What was believed of the tank: its table both ways, its rows, its capacity."""

    height_m: Callable[[float], float]
    volume_l: Callable[[float], float]
    rows: Sequence[Row]
    capacity_l: float


class Strapped(NamedTuple):
    """The table, and for each row its spread (l): the whole table lies within its spreads 19 times in 20.

    `measured` rows come first; those after them, above where the fill ended, are carried on by the table before.
    """

    rows: list[Row]
    spreads_l: list[float]
    measured: int
    kinks_m: list[float]
    noise_m: float
    metered_l: float


def strap(
    seconds: Sequence[Second], before: Before, gain_spread: float, start_l: float | None = None
) -> Strapped:
    """The strapping table of a fill. Raises Unfit for a run that is no good.

    `gain_spread`: how well the meter is known, 95 %, a share (the bucket test's). `start_l`: what was in the tank at
    the start, as a person knows it (0 when drained); None: what the table before says.

    The level is noisy and the meter is not, so the height is fitted over the volume: at each row a parabola through
    the neighbouring seconds, of how far the height lies off the table before. The spread is the meter's share of the
    water and the noise of the level, from blocks longer than a wave, times the tank's plan area.
    """
    _check(seconds, before)
    first_m = median(second.height_m for second in seconds[:15])
    begun_l = before.volume_l(first_m) if start_l is None else start_l
    begun_spread_l = 0.02 * before.capacity_l if start_l is None else 0.002 * before.capacity_l
    volumes = [begun_l + second.metered_l for second in seconds]
    offs = [second.height_m - before.height_m(volume) for second, volume in zip(seconds, volumes, strict=True)]
    at = _rows_at(volumes[0], volumes[-1])
    fits = [_local(volumes, offs, volume) for volume in at]
    variance = wave_variance(_residuals(volumes, offs, at, [fit for fit, _ in fits]))
    table = [(before.height_m(volume) + fit, volume) for volume, (fit, _) in zip(at, fits, strict=True)]
    rows, kept = _rising(table)
    spreads = []
    for number in kept:
        level_l = TOGETHER * sqrt(variance * fits[number][1]) * _slope(table, number)
        passed_l = gain_spread * (at[number] - begun_l)
        spreads.append(hypot(passed_l, hypot(level_l, begun_spread_l)))
    above = _above(rows[-1], before)
    return Strapped(
        rows + above, spreads + [max(spreads[-1], 0.03 * before.capacity_l)] * len(above), len(rows),
        _kinks(rows), sqrt(variance), seconds[-1].metered_l,
    )  # fmt: skip


def _check(seconds: Sequence[Second], before: Before) -> None:
    """Raises Unfit, the plainest reason first."""
    if len(seconds) < LEAST_SECONDS:
        raise Unfit("too-short", seconds=float(len(seconds)), least_s=float(LEAST_SECONDS))
    gap_s = max(late.at_s - early.at_s for early, late in pairwise(seconds))
    if gap_s > MOST_GAP_S:
        raise Unfit("level-was-silent", gap_s=gap_s)
    metered_l = seconds[-1].metered_l - seconds[0].metered_l
    if metered_l <= 0.0:
        raise Unfit("meter-counted-nothing")
    if metered_l > MUCH * before.capacity_l:
        raise Unfit("more-than-it-holds", metered_l=metered_l, capacity_l=before.capacity_l)
    heights = _minutes(seconds)
    rose_m, least_m = heights[-1] - heights[0], LEAST_RISE * before.height_m(before.capacity_l)
    fell_m = max((high - low for high, low in pairwise(heights)), default=0.0)
    if fell_m > FALL_M:
        raise Unfit("level-fell", fell_m=fell_m)
    if rose_m < least_m:
        raise Unfit("rose-too-little", rose_m=rose_m, least_m=least_m)
    _check_together(seconds, metered_l / rose_m)


def _check_together(seconds: Sequence[Second], mean_l_per_m: float) -> None:
    """Level and meter must rise together: a meter that stood while the level rose was bypassed, or lost."""
    part = len(seconds) // 12
    for begin in range(0, len(seconds) - part, part):
        early, late = seconds[begin : begin + part // 4], seconds[begin + part - part // 4 : begin + part]
        rose_m = median(s.height_m for s in late) - median(s.height_m for s in early)
        metered_l = fmean([s.metered_l for s in late]) - fmean([s.metered_l for s in early])
        if rose_m > 0.02 and metered_l < 0.1 * mean_l_per_m * rose_m:
            raise Unfit("meter-stood-still", rose_m=rose_m)


def _minutes(seconds: Sequence[Second]) -> list[float]:
    """The typical height of each half minute."""
    return [median(s.height_m for s in seconds[i : i + 30]) for i in range(0, len(seconds) - 15, 30)]


def _rows_at(low_l: float, high_l: float) -> list[float]:
    """Volumes for the rows, a little closer at both ends, where round tanks change fastest."""
    even = [i / (ROWS - 1) for i in range(ROWS)]
    bent = [(1.0 - cos(pi * share)) / 2.0 for share in even]
    return [low_l + (high_l - low_l) * (0.6 * e + 0.4 * b) for e, b in zip(even, bent, strict=True)]


def _local(volumes: Sequence[float], offs: Sequence[float], volume: float) -> tuple[float, float]:
    """The fit at a volume through its neighbourhood, an eighth of the run, and its share of the noise."""
    reach = (volumes[-1] - volumes[0]) / 16.0
    low = min(bisect_left(volumes, volume - reach), max(bisect_left(volumes, volumes[-1] - 1.5 * reach), 0))
    high = max(bisect_left(volumes, volume + reach), bisect_left(volumes, volumes[0] + 1.5 * reach))
    return bent_at(volumes[low:high], offs[low:high], volume)


def _residuals(
    volumes: Sequence[float], offs: Sequence[float], at: Sequence[float], fits: Sequence[float]
) -> list[float]:
    out, row = [], 0
    for volume, off in zip(volumes, offs, strict=True):
        while row < len(at) - 2 and volume > at[row + 1]:
            row += 1
        share = (volume - at[row]) / (at[row + 1] - at[row])
        out.append(off - fits[row] - share * (fits[row + 1] - fits[row]))
    return out


def _rising(table: Sequence[Row]) -> tuple[list[Row], list[int]]:
    """The rows that rise in height, and which they are. A sensor that begins above the floor drops the first ones."""
    rows: list[Row] = []
    kept: list[int] = []
    for number, (height, volume) in enumerate(table):
        floored = max(height, 0.0)
        if not rows or floored > rows[-1][0] + 1e-4:
            rows.append((floored, volume))
            kept.append(number)
    if len(rows) < ROWS // 2:
        raise Unfit("level-does-not-follow", rows=float(len(rows)))
    return rows, kept


def _slope(table: Sequence[Row], number: int) -> float:
    """The plan area at a row, l/m."""
    low, high = table[max(number - 1, 0)], table[min(number + 1, len(table) - 1)]
    return abs((high[1] - low[1]) / max(high[0] - low[0], 1e-3))


def _above(last: Row, before: Before) -> list[Row]:
    """What the table before adds above the end of the fill, up to the capacity."""
    missing_l = before.capacity_l - last[1]
    if missing_l <= 0.0:
        return []
    base_m = before.height_m(last[1])
    volumes = [last[1] + missing_l * share for share in (0.34, 0.67, 1.0)]
    rows = [(last[0] + before.height_m(volume) - base_m, volume) for volume in volumes]
    return [row for before_it, row in pairwise([last, *rows]) if row[0] > before_it[0] + 1e-5]


def _kinks(rows: Sequence[Row]) -> list[float]:
    """Heights at which the plan area jumps: a step in the tank's wall, or something that went wrong there.

    Lines through the three areas below and above a row, carried to it, differ by more than an eighth.
    """
    middles = [((low + high) / 2, (more - less) / (high - low)) for (low, less), (high, more) in pairwise(rows)]
    found = []
    for number in range(3, len(middles) - 3):
        height = rows[number][0]
        below, above = (line(*zip(*part, strict=True)) for part in (middles[number - 3 : number],
                                                                    middles[number : number + 3]))
        jump = abs(above.at(height) - below.at(height)) / max(above.at(height), below.at(height), 1e-9)
        if jump > KINK:
            found.append((jump, height))
    return [height for jump, height in found if jump == max(j for j, h in found if abs(h - height) < 0.1)]
