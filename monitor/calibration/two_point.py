"""Two-point level: what a person measured with a tape, beside what the sensor says, at one or two levels."""

from collections.abc import Sequence
from math import hypot
from typing import NamedTuple

from monitor.calibration.unfit import Unfit

TAPE_M = 0.002
"""How well a tape or a sight tube is read, one sd."""
LEAST_APART_M = 0.15
LEAST_SCALE, MOST_SCALE = 0.8, 1.25


class Point(NamedTuple):
    """Heights of the same water over the floor (m): as measured, as the sensor says, and the noise of that, one sd."""

    true_m: float
    said_m: float
    noise_m: float


class TwoPoint(NamedTuple):
    """true = scale × said + shift_m. `spread_m` is 95 %, at the ends of the tank; with one point `scale` is 1."""

    scale: float
    shift_m: float
    spread_m: float


def two_point(points: Sequence[Point], top_m: float) -> TwoPoint:
    """From one point the shift, from two the scale as well. Raises Unfit."""
    first, last = points[0], points[-1]
    errors = [hypot(TAPE_M, point.noise_m) for point in points]
    if len(points) == 1:
        return TwoPoint(1.0, first.true_m - first.said_m, 1.96 * errors[0])
    apart_m = last.true_m - first.true_m
    if abs(apart_m) < LEAST_APART_M:
        raise Unfit("points-too-close", apart_m=abs(apart_m), least_m=LEAST_APART_M)
    scale = apart_m / (last.said_m - first.said_m) if last.said_m != first.said_m else 0.0
    if not LEAST_SCALE < scale < MOST_SCALE:
        raise Unfit("level-far-off", scale=scale)
    spread_m = 1.96 * max(_at(height_m, points, errors) for height_m in (0.0, top_m))
    return TwoPoint(scale, first.true_m - scale * first.said_m, spread_m)


def _at(height_m: float, points: Sequence[Point], errors: Sequence[float]) -> float:
    """The error at a height of the straight line through two points, one sd."""
    first, last = points[0].true_m, points[-1].true_m
    share = (height_m - first) / (last - first)
    return hypot((1.0 - share) * errors[0], share * errors[-1])
