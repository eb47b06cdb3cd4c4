"""SenML's units and the program's own.

Primary units: RFC 8428 section 12.1. Secondary units: RFC 8798 section 3, open to packs of version 26 (RFC 9100);
four of them are taken under version 10 too, because small nodes send them. A sum is unit × seconds.
"""

from functools import lru_cache
from typing import NamedTuple

from monitor.wire.rejected import Rejected

LONGEST_UNIT = 16


class Conversion(NamedTuple):
    """inside = wire * factor; inside total = wire sum * total_factor / total_divisor."""

    unit: str
    factor: float = 1.0
    total_factor: float = 1.0
    total_divisor: float = 1.0


PRIMARY = {
    "m3": Conversion("l", 1000.0, 1000.0),
    "m3/s": Conversion("l/min", 60_000.0, 1000.0),  # × seconds is m³
    "l/s": Conversion("l/min", 60.0),  # × seconds is l
    "1/s": Conversion("Hz"),
    "1/min": Conversion("Hz", 1 / 60, 1 / 60),
}

ALWAYS_TAKEN = {
    "mA": Conversion("A", 0.001, 0.001),
    "mm": Conversion("m", 0.001, 0.001),
    "kPa": Conversion("Pa", 1000.0, 1000.0),
    "l/min": Conversion("l/min", 1.0, 1.0, 60.0),  # × seconds is sixtieths of a litre
}

SECONDARY = {
    "ms": Conversion("s", 0.001, 0.001),
    "min": Conversion("s", 60.0, 60.0),
    "h": Conversion("s", 3600.0, 3600.0),
    "MHz": Conversion("Hz", 1e6, 1e6),
    "hPa": Conversion("Pa", 100.0, 100.0),
    "cm": Conversion("m", 0.01, 0.01),
    "km": Conversion("m", 1000.0, 1000.0),
}


@lru_cache(maxsize=256)
def conversion(unit: str, secondary: bool) -> Conversion:
    """How to turn an amount in that unit into the program's own; a unit not listed is passed on as it came.

    Raises Rejected("unit") for a secondary unit in a pack of version 10, and for what can't be a unit's name.
    """
    if len(unit) > LONGEST_UNIT or not unit.isprintable():
        raise Rejected("unit", f"A unit has at most {LONGEST_UNIT} printable characters.")
    if unit in SECONDARY and not secondary:
        raise Rejected("unit", f"The unit {unit} needs a pack of version 26 (\"bver\": 26), RFC 9100.")
    return PRIMARY.get(unit) or ALWAYS_TAKEN.get(unit) or SECONDARY.get(unit) or Conversion(unit)
