"""Whether the water falls, holds or rises: by the net flow where that is known, else by what the volume did."""

from collections.abc import Sequence
from itertools import takewhile
from typing import Literal

Trend = Literal["falling", "holding", "rising"]
STEADY_L_MIN = 0.6
WINDOW_S = 120.0
LEAST_POINTS = 5
MARGIN = 3.0  # standard errors: the volume is filtered, and its errors go together
Point = tuple[float, float | None, float | None]


def trend(net_l_min: float | None, past: Sequence[Point], since: float) -> Trend | None:
    """`past`: (time in s, volume in l, its spread in l), oldest first; `since`: when a pump last changed what it does.
    None where neither tells."""
    if net_l_min is not None:
        return _of(net_l_min, 0.0)
    begin = max(since, past[-1][0] - WINDOW_S) if past else since
    known = takewhile(lambda point: point[0] >= begin and point[1] is not None, reversed(past))
    recent = [(at, volume_l) for at, volume_l, _ in known if volume_l is not None]
    return None if len(recent) < LEAST_POINTS else _of(*slope_l_min(recent))


def slope_l_min(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The least-squares slope of (s, l) in l/min, and how far it may be off."""
    n = len(points)
    mid_s, mid_l = sum(s for s, _ in points) / n, sum(v for _, v in points) / n
    spread = sum((s - mid_s) ** 2 for s, _ in points)
    slope = sum((s - mid_s) * (v - mid_l) for s, v in points) / spread
    left = sum((v - mid_l - slope * (s - mid_s)) ** 2 for s, v in points)
    return 60.0 * slope, 60.0 * MARGIN * (left / (n - 2) / spread) ** 0.5


def _of(flow_l_min: float, off_l_min: float) -> Trend | None:
    if flow_l_min + off_l_min < -STEADY_L_MIN:
        return "falling"
    if flow_l_min - off_l_min > STEADY_L_MIN:
        return "rising"
    return "holding" if off_l_min <= STEADY_L_MIN else None
