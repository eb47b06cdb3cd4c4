"""A tap as a person writes it down, in one line.

    5 gpm                            by word
    5 gal in 57 s                    a bucket at the tank's end of the hose; more times after commas
    5 gal in 57 s at the tap         a bucket before the hose: only a bound
    40 psi flowing, 5/8 in, 50 ft    a gauge read while the water runs, and the hose's bore and length
    60 psi static, 5/8 in, 50 ft     a gauge on a shut tap: only a bound
"""

import re

from monitor.planning import supply
from monitor.quantities import BadQuantity, read

FORMS = '"5 gpm", "5 gal in 57 s", "40 psi flowing, 5/8 in, 50 ft" or "60 psi static, 5/8 in, 50 ft"'
_BUCKET = re.compile(r"(.+?)\s+in\s+(.+?)(\s+at the tap)?")
_GAUGE = re.compile(r"(.+?)\s+(flowing|static)\s*,\s*([^,]+),\s*([^,]+)")


def read_tap(text: str) -> supply.Tap:
    """The tap a line tells of. Raises BadQuantity."""
    text = text.strip()
    if gauge := _GAUGE.fullmatch(text):
        pressure, how, bore, length = gauge.groups()
        by = supply.from_flowing_pressure if how == "flowing" else supply.from_static_pressure
        return by(read(pressure, "pressure"), _above(bore, 0.2), _above(length, 1000.0))
    if text.count(" in ") and (bucket := _BUCKET.fullmatch(text)):
        volume, times, at_tap = bucket.groups()
        return _bucket(read(volume, "volume"), [read(each, "time") for each in times.split(",")], at_tap is None)
    flow_l_min = read(text, "flow")
    if not 0.0 <= flow_l_min <= supply.MOST_L_MIN:
        raise BadQuantity(f'"{text}"', "a flow that a tap can give")
    return supply.told(flow_l_min)


def _bucket(volume_l: float, times_s: list[float], at_tank: bool) -> supply.Tap:
    try:
        tap = supply.bucket(volume_l, times_s, at_tank)
    except ValueError as error:
        raise BadQuantity("a bucket", str(error)) from None
    if tap.l_min > supply.MOST_L_MIN:
        raise BadQuantity("a bucket", "a flow that a tap can give")
    return tap


def _above(text: str, most_m: float) -> float:
    length_m = read(text.strip(), "length")
    if not 0.001 <= length_m <= most_m:
        raise BadQuantity(f'"{text.strip()}"', "a hose's bore and length")
    return length_m
