"""When each alarm's condition holds: one small function an alarm, from what is known now.

A rule answers True, False, or None when it cannot know; an alarm that stands is held through None. Deadbands live
here, delays in the catalogue. `stands` tells whether the condition held a moment ago, for the rules
that clear later than they
are raised.
"""

import math
from typing import NamedTuple

RESERVE_S = 20.0  # over the act time: the figure is a second or two old, and the pumps coast
CLEAR = 1.4  # dry-soon clears at this many times the time at which it is raised
RAW_SHARE = 0.7  # the independent path warns at this share of the act time, straight from the raw level
DEADBAND = 0.04  # of capacity: a volume alarm clears this much beyond its limit
NEAR_FREEZING_C = 2.0
CLEAR_FREEZING_C = 4.0
LOW_SHARE = 0.67  # of what a pump has taken
REBOOTS = 3  # within the memory of nodes.py: a weak battery restarts one every few minutes


class Volumes(NamedTuple):
    """The marks of the tank (l)."""

    heel: float
    band_low: float
    full: float
    capacity: float
    tow_limit: float | None


class Situation(NamedTuple):
    """What the rules look at. None = unknown."""

    marks: Volumes
    act_time_s: float
    volume_l: float | None = None
    low_l: float | None = None
    """The volume's lower bound (10 %)."""
    raw_l: float | None = None
    """The volume straight from the last seconds' level readings, no filter in it."""
    inflow_l_min: float = 0.0
    metered_l_min: float = 0.0
    leak_l_min: float = 0.0
    flat_out_l_min: float = 0.0
    """What every pump that runs, or has drawn within ten minutes, takes together."""
    nominal_l_min: float = 0.0
    """The same by the rig file's figures."""


def usable_time_s(low_l: float, s: Situation) -> float:
    """Seconds to the heel from the lower bound, every pump in use drawing without a pause."""
    net = s.flat_out_l_min - s.inflow_l_min + s.leak_l_min
    return math.inf if net <= 0.0 else 60.0 * max(0.0, low_l - s.marks.heel) / net


def dry(s: Situation, stands: bool, raw_dry: bool = False) -> bool | None:
    """The water is at the heel, by the balance or by a raw level that has stayed there."""
    limit = s.marks.heel + (0.3 * DEADBAND * s.marks.capacity if stands else 0.0)
    if raw_dry:
        return True
    return None if s.volume_l is None else s.volume_l <= limit


def dry_soon(s: Situation, stands: bool) -> bool | None:
    """The heel may be reached within the act time, triggers held open."""
    if s.low_l is None:
        return None
    limit = s.act_time_s + RESERVE_S
    return usable_time_s(s.low_l, s) < (CLEAR * limit if stands else limit)


def dry_soon_raw(s: Situation) -> bool | None:
    """The independent path: raw level and the rig file's draws only, so that no fault in the balance can silence it."""
    if s.raw_l is None:
        return None
    net = s.nominal_l_min - s.metered_l_min
    return net > 0.0 and 60.0 * max(0.0, s.raw_l - s.marks.heel) / net < RAW_SHARE * s.act_time_s


def water_low(s: Situation, stands: bool) -> bool | None:
    limit = s.marks.band_low + (DEADBAND * s.marks.capacity if stands else 0.0)
    return None if s.volume_l is None else s.volume_l < limit


def overfill(s: Situation, stands: bool) -> bool | None:
    """Water still comes in above the full mark."""
    if s.volume_l is None:
        return None
    over = s.volume_l > s.marks.full + (0.0 if stands else 0.25 * DEADBAND * s.marks.capacity)
    return over and (stands or s.inflow_l_min > 0.5)


def tow_heavy(s: Situation, stands: bool, moving: bool, packing_up: bool) -> bool | None:
    if s.marks.tow_limit is None or not (moving or packing_up):
        return False
    limit = s.marks.tow_limit - (0.25 * DEADBAND * s.marks.capacity if stands else 0.0)
    return None if s.volume_l is None else s.volume_l > limit


def freeze(temperatures_c: list[float], stands: bool) -> bool | None:
    if not temperatures_c:
        return None
    return min(temperatures_c) < (CLEAR_FREEZING_C if stands else NEAR_FREEZING_C)


def draw_low(rate: float, sd: float, own_record: float | None) -> bool:
    """A pump takes less than its own record by more than soap, a worn nozzle or a half-open gun make it: a third."""
    return own_record is not None and rate + 2.0 * sd < LOW_SHARE * own_record


def draw_high(rate: float, sd: float, own_record: float | None, nominal: float) -> bool:
    """Clearly more than its own record, and than the rig file says: a record begun while it soaped is too low."""
    return own_record is not None and rate - 2.0 * sd > 1.15 * max(own_record, nominal)
