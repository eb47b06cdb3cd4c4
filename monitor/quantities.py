"""Quantities as people write and read them, and the units the program computes in.

Inside the program: litres, litres a minute, metres, seconds, pascals, degrees Celsius, amperes, kilograms.
The table is checked against pint in ``tests/test_quantities.py``; factors from NIST SP 811 (2008), appendix B.
"""

import re
from typing import Literal

Dimension = Literal[
    "volume", "flow", "length", "time", "pressure", "temperature", "current", "mass", "frequency", "k_factor"
]  # fmt: skip
System = Literal["us", "metric"]

L_PER_GAL = 3.785411784
PA_PER_PSI = 6894.757293168

# unit: (dimension, factor, offset), so that inside = written * factor + offset
UNITS: dict[str, tuple[Dimension, float, float]] = {
    "gal": ("volume", L_PER_GAL, 0.0),
    "L": ("volume", 1.0, 0.0),
    "l": ("volume", 1.0, 0.0),
    "m3": ("volume", 1000.0, 0.0),
    "gpm": ("flow", L_PER_GAL, 0.0),
    "L/min": ("flow", 1.0, 0.0),
    "l/min": ("flow", 1.0, 0.0),
    "l/s": ("flow", 60.0, 0.0),
    "in": ("length", 0.0254, 0.0),
    "ft": ("length", 0.3048, 0.0),
    "mm": ("length", 0.001, 0.0),
    "cm": ("length", 0.01, 0.0),
    "m": ("length", 1.0, 0.0),
    "s": ("time", 1.0, 0.0),
    "min": ("time", 60.0, 0.0),
    "h": ("time", 3600.0, 0.0),
    "psi": ("pressure", PA_PER_PSI, 0.0),
    "kPa": ("pressure", 1000.0, 0.0),
    "bar": ("pressure", 100_000.0, 0.0),
    "°F": ("temperature", 5.0 / 9.0, -160.0 / 9.0),
    "°C": ("temperature", 1.0, 0.0),
    "A": ("current", 1.0, 0.0),
    "mA": ("current", 0.001, 0.0),
    "lb": ("mass", 0.45359237, 0.0),
    "kg": ("mass", 1.0, 0.0),
    "Hz": ("frequency", 1.0, 0.0),
    "/gal": ("k_factor", 1.0 / L_PER_GAL, 0.0),
    "/L": ("k_factor", 1.0, 0.0),
}

# what a person of either system reads: (unit, decimals)
SHOWN: dict[tuple[Dimension, System], tuple[str, int]] = {
    ("volume", "us"): ("gal", 0),
    ("volume", "metric"): ("L", 0),
    ("flow", "us"): ("gpm", 1),
    ("flow", "metric"): ("L/min", 0),
    ("length", "us"): ("in", 1),
    ("length", "metric"): ("mm", 0),
    ("pressure", "us"): ("psi", 2),
    ("pressure", "metric"): ("kPa", 1),
    ("temperature", "us"): ("°F", 0),
    ("temperature", "metric"): ("°C", 0),
    ("mass", "us"): ("lb", 0),
    ("mass", "metric"): ("kg", 0),
    ("frequency", "us"): ("Hz", 0),
    ("frequency", "metric"): ("Hz", 0),
    ("k_factor", "us"): ("/gal", 0),
    ("k_factor", "metric"): ("/L", 1),
    ("current", "us"): ("mA", 2),
    ("current", "metric"): ("mA", 2),
    ("time", "us"): ("s", 0),
    ("time", "metric"): ("s", 0),
}

_TEXT = re.compile(r"\s*([-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?)\s*(\S*)\s*")
_FRACTION = re.compile(r"^\s*(?:(\d{1,9})[ -])?(\d{1,9})/(0*[1-9]\d{0,8})(?!\d)")


class BadQuantity(ValueError):
    """A text that is no quantity of the wanted kind. `found` and `expected` are for people."""

    def __init__(self, found: str, expected: str) -> None:
        super().__init__(f"found {found}, expected {expected}")
        self.found = found
        self.expected = expected


def units_of(dimension: Dimension) -> list[str]:
    """The spellings a person may use for a dimension."""
    return [unit for unit, (of, _, _) in UNITS.items() if of == dimension]


def read(text: object, dimension: Dimension) -> float:
    """The amount in the program's own unit: ``read("7 gpm", "flow")`` is 26.5 (l/min). Hoses come in "3/8 in".

    Raises BadQuantity for anything that is no text, has no unit, or has a unit of another dimension.
    """
    expected = f'a {dimension.replace("_", "-")} with its unit: {", ".join(units_of(dimension))}'
    found = f'"{text}"' if isinstance(text, str) else str(text)
    match = _TEXT.fullmatch(_FRACTION.sub(_decimal, text)) if isinstance(text, str) else None
    if match is None:
        raise BadQuantity(found, expected)
    number, unit = match.groups()
    if unit not in UNITS:
        raise BadQuantity(found if unit else f"{found}, which has no unit", expected)
    of, factor, offset = UNITS[unit]
    if of != dimension:
        raise BadQuantity(f"{found}, which is a {of.replace('_', '-')}", expected)
    value = float(number) * factor + offset
    if value - value != 0.0:  # inf and nan are the only numbers that differ from themselves here
        raise BadQuantity(found, expected)
    return value


def _decimal(fraction: re.Match[str]) -> str:
    """A whole number and a fraction, as a decimal number."""
    whole, over, under = fraction.groups()
    return repr(int(whole or 0) + int(over) / int(under))


def write(value: float, dimension: Dimension, system: System, decimals: int | None = None) -> str:
    """The amount as a person of that unit system reads it: ``write(26.5, "flow", "us")`` is "7.0 gpm"."""
    unit, usual = SHOWN[dimension, system]
    _, factor, offset = UNITS[unit]
    number = f"{(value - offset) / factor:.{usual if decimals is None else decimals}f}"
    return f"{number.removeprefix('-') if float(number) == 0 else number} {unit}"


def write_time(seconds: float) -> str:
    """A span of time as people say it: "45 s", "12 min", "1 h 30 min"."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60:02d} min"
