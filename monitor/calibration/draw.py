"""The draw test: tap shut, one pump drawing, until the level has fallen some 4 in."""

from collections.abc import Sequence
from math import hypot, sqrt
from typing import NamedTuple

from monitor.calibration.fit import NORMAL_95, line, wave_variance
from monitor.calibration.unfit import Unfit

LEAST_FALL_M = 0.075
MOST_METERED_L = 1.0
LEAST_S = 60.0
UNSTEADY = 0.12
TABLE = 0.01
"""What the strapping table may be off by over a few inches, as a share of the volume, one sd, where it was computed."""


class Second(NamedTuple):
    """One second of the test: when, the height, the volume by the table at that height, metered since the start."""

    at_s: float
    height_m: float
    volume_l: float
    metered_l: float


class Draw(NamedTuple):
    """What the pump takes. `spread_l_min` is 95 %."""

    l_min: float
    spread_l_min: float
    fell_m: float
    took_s: float


def draw(seconds: Sequence[Second], table: float = TABLE) -> Draw:
    """The slope of the volume over time. `table`: the table's own error, a share, one sd. Raises Unfit."""
    if len(seconds) < LEAST_S:
        raise Unfit("too-short", seconds=float(len(seconds)), least_s=LEAST_S)
    if seconds[-1].metered_l - seconds[0].metered_l > MOST_METERED_L:
        raise Unfit("tap-was-open", metered_l=seconds[-1].metered_l - seconds[0].metered_l)
    times = [second.at_s for second in seconds]
    heights = line(times, [second.height_m for second in seconds])
    fell_m = heights.at(times[0]) - heights.at(times[-1])
    if fell_m < LEAST_FALL_M:
        raise Unfit("fell-too-little", fell_m=fell_m, least_m=LEAST_FALL_M)
    volumes = [second.volume_l for second in seconds]
    whole, half = line(times, volumes), len(times) // 2
    halves = [line(times[part], volumes[part]) for part in (slice(half), slice(half, None))]
    noise_l = wave_variance([v - whole.at(t) for t, v in zip(times, volumes, strict=True)])
    sd = sqrt(noise_l / sum((t - whole.mean_x) ** 2 for t in times))
    between = abs(halves[0].slope - halves[1].slope)
    if between > UNSTEADY * abs(whole.slope) + 6.0 * sd * 2.83:  # a half has a third root of eight as much error
        raise Unfit("draw-not-steady", first_l_min=-60.0 * halves[0].slope, second_l_min=-60.0 * halves[1].slope)
    l_min = -60.0 * whole.slope
    return Draw(l_min, NORMAL_95 * hypot(60.0 * sd, table * l_min), fell_m, times[-1] - times[0])
