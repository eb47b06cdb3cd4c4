"""Packing up: when to shut the tap, so that the last rinse lands at the tow limit.

With V the water aboard (l), T the tow limit (l), q what the tap gives (l/min), n what the pumps draw at this moment and
d what those in use take when they draw (l/min), the tap shut in s minutes leaves

    V(s) = V + (q − n)·s        aboard as it is shut,
    r(s) = (V(s) − T) / d       minutes of rinsing, with no water coming in, until the water stands at T.

Each s with V(s) ≥ T lands at T, the later the tap is shut the longer the rinse; the answer is the soonest landing:

    V ≥ T           s = 0: whatever still comes in would have to be used up too; r = (V − T) / d
    V < T, q > n    s = (T − V) / (q − n): filled up to what may be towed; r = 0
    V < T, q ≤ n    never: the water stays under T with the tap open, as long as the pumps draw

V, q and d are not known for certain. Too heavy is worse than a little light, so s is taken early: as the smallest at
which V(s), 1.645 of its spreads added, stands at T (one in twenty times it would then stand above). A pump that pauses
changes n at once, so the answer is for now, to be asked again each second; followed so, it lands.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from monitor.forecast.passage import Spread

ONE_IN_20 = 1.645  # of the normal law
HOLDS_L_MIN = 0.05  # slower than this, the water doesn't rise


class Aboard(NamedTuple):
    """The water (l), the limit it may be towed at (l), and the heel (l): below it no pump brings the water down."""

    volume_l: Spread
    tow_limit_l: float
    heel_l: float


class Packing(NamedTuple):
    """`shut_tap_in_s`: s, 0 is now; None where it need not be shut, or nobody knows.

    `lasts_s`: how long the water above the limit then lasts, the tap shut and the pumps in use drawing; None where no
    pump is in use to bring it down. `lasts_range_s`: the same, 5 and 95 %. `volume_then_l`: aboard as the tap is shut.
    """

    shut_tap_in_s: float | None
    lasts_s: float | None
    lasts_range_s: tuple[float, float] | None
    volume_then_l: float


def packing(aboard: Aboard, inflow_l_min: Spread | None, drawn_l_min: float, in_use_l_min: Sequence[Spread]) -> Packing:
    """`inflow_l_min`: the tap, or None where nobody knows; `drawn_l_min`: all pumps at this moment."""
    volume_l = aboard.volume_l
    shut_s, then_l = _shut_s(aboard, inflow_l_min, drawn_l_min), volume_l.mean
    if shut_s and inflow_l_min is not None:
        then_l += (inflow_l_min.mean - drawn_l_min) * shut_s / 60.0
    over_l = Spread(then_l - max(aboard.tow_limit_l, aboard.heel_l), volume_l.sd)
    lasts_s, range_s = _lasts_s(over_l, in_use_l_min)
    return Packing(shut_s, lasts_s, range_s, then_l)


def _shut_s(aboard: Aboard, inflow: Spread | None, drawn_l_min: float) -> float | None:
    volume, limit_l = aboard.volume_l, aboard.tow_limit_l
    room_l = limit_l - volume.mean
    if room_l <= ONE_IN_20 * volume.sd:
        return 0.0
    if inflow is None or inflow.mean - drawn_l_min <= HOLDS_L_MIN:
        return None
    return 60.0 * _reached_min(room_l, volume.sd, inflow.mean - drawn_l_min, inflow.sd)


def _reached_min(room_l: float, volume_sd_l: float, rises_l_min: float, rises_sd_l_min: float) -> float:
    """The smallest s > 0 of  rises·s + z·√(volume_sd² + (rises_sd·s)²) = room,  for  room > z·volume_sd.

    Squared it is a quadratic in s; its smaller positive root has  rises·s ≤ room  and so solves the equation itself.
    """
    z_flow, z_volume = ONE_IN_20 * rises_sd_l_min, ONE_IN_20 * volume_sd_l
    least = room_l * room_l - z_volume * z_volume
    root = math.sqrt((room_l * z_flow) ** 2 + (rises_l_min * z_volume) ** 2 - (z_flow * z_volume) ** 2)
    return least / (room_l * rises_l_min + root)


def _lasts_s(over_l: Spread, in_use: Sequence[Spread]) -> tuple[float | None, tuple[float, float] | None]:
    """over / draw; its spread to first order, that of volume and draws added as squares."""
    draw_l_min = sum(rate.mean for rate in in_use)
    if over_l.mean + ONE_IN_20 * over_l.sd <= 0.0:
        return 0.0, (0.0, 0.0)
    if draw_l_min <= 0.0:
        return None, None
    lasts_min = over_l.mean / draw_l_min
    sd_min = math.hypot(over_l.sd, lasts_min * math.hypot(*(rate.sd for rate in in_use))) / draw_l_min
    low_s, lasts_s, high_s = (max(0.0, 60.0 * (lasts_min + z * sd_min)) for z in (-ONE_IN_20, 0.0, ONE_IN_20))
    return lasts_s, (low_s, high_s)
