"""What the tap will give, by whatever is at hand: this site's record, a bucket and a stopwatch, a gauge and a hose.

Each answer says how sure it is. A static pressure, read with nothing running, gives no flow, only a bound that the flow
stays below; an answer of that kind must be shown as such.
"""

from collections.abc import Sequence
from statistics import median
from typing import Literal, NamedTuple

from monitor.planning.hoses import GRAVITY_PA_PER_M, flow_l_min

MOST_L_MIN = 400.0  # no garden tap and no hydrant hose of this trade gives more
BUCKET_MARK = 0.03  # how well a bucket's mark is met, as a share; common practice, no published source
CLICK_S = 0.4  # how well a thumb starts and stops a watch; common practice, no published source
HOSE_UNKNOWN = 0.15  # age, couplings and washers between gauge and tank, as a share; common practice
DAY_TO_DAY = 0.08  # the least by which a site's tap differs from visit to visit, as a share; a stated guess

How = Literal["record", "bucket at the tank", "bucket at the tap", "flowing pressure", "static pressure", "told"]


class Tap(NamedTuple):
    """A tap's flow and how far it may be off (one standard deviation), in l/min."""

    l_min: float
    sd_l_min: float
    how: How

    @property
    def upper_bound(self) -> bool:
        """The figure is only what the flow can't exceed: the tank will see less."""
        return self.how in ("static pressure", "bucket at the tap")


def told(l_min: float) -> Tap:
    """A person's word for it: believed to a tenth."""
    return Tap(l_min, 0.1 * l_min, "told")


def bucket(volume_l: float, times_s: Sequence[float], at_tank: bool = True) -> Tap:
    """A bucket of `volume_l` filled once or more. At the tank's end of the hose is where it counts.

    Raises ValueError for no time, or one that is none.
    """
    if not times_s or volume_l <= 0.0 or min(times_s) <= 0.0:
        raise ValueError("a bucket needs a volume and at least one time, both above 0")
    mean_s = sum(times_s) / len(times_s)
    flow = 60.0 * volume_l / mean_s
    click = CLICK_S / mean_s / len(times_s) ** 0.5
    seen = (max(times_s) - min(times_s)) / (2.0 * mean_s)
    share = (BUCKET_MARK**2 + max(click, seen) ** 2) ** 0.5
    return Tap(flow, share * flow, "bucket at the tank" if at_tank else "bucket at the tap")


def from_flowing_pressure(pressure_pa: float, bore_m: float, length_m: float, rise_m: float = 0.0) -> Tap:
    """By the pressure left at the tap *while the water runs*, and the hose to the tank, which ends `rise_m` higher."""
    flow = flow_l_min(pressure_pa - rise_m * GRAVITY_PA_PER_M, bore_m, length_m)
    return Tap(flow, HOSE_UNKNOWN * flow, "flowing pressure")


def from_static_pressure(pressure_pa: float, bore_m: float, length_m: float, rise_m: float = 0.0) -> Tap:
    """By a gauge on a shut tap: no more than this can run, how much less nobody knows."""
    tap = from_flowing_pressure(pressure_pa, bore_m, length_m, rise_m)
    return Tap(tap.l_min, 0.3 * tap.l_min, "static pressure")


def from_record(flows_l_min: Sequence[float]) -> Tap:
    """By what this site's tap gave on earlier visits. Raises ValueError for none."""
    if not flows_l_min:
        raise ValueError("this site has no record")
    middle = median(flows_l_min)
    apart = 1.4826 * median(abs(flow - middle) for flow in flows_l_min)  # of a normal spread, its sd
    return Tap(middle, max(apart, DAY_TO_DAY * middle), "record")
