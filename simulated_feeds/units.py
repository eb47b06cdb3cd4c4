"""Amounts as people write them: "5 gpm", "320 gal", "12 min". The world computes in l, l/min, m, s, Pa and °C."""

from datetime import time

_FACTORS: dict[str, float] = {
    "gal": 231 * 0.0254**3 * 1000,  # the US gallon is 231 cubic inches by definition
    "L": 1.0,
    "l": 1.0,
    "m3": 1000.0,
    "gpm": 231 * 0.0254**3 * 1000,
    "L/min": 1.0,
    "l/min": 1.0,
    "l/s": 60.0,
    "in": 0.0254,
    "ft": 0.3048,
    "mm": 0.001,
    "cm": 0.01,
    "m": 1.0,
    "s": 1.0,
    "min": 60.0,
    "h": 3600.0,
    "psi": 0.45359237 * 9.80665 / 0.0254**2,
    "kPa": 1000.0,
    "bar": 1e5,
    "°C": 1.0,
    "mm/h": 0.001,
    "mm/m": 0.001,
    "/L": 1.0,
    "/gal": 1 / (231 * 0.0254**3 * 1000),
}
_OF = {
    "volume": ("gal", "L", "l", "m3"),
    "flow": ("gpm", "L/min", "l/min", "l/s"),
    "length": ("in", "ft", "mm", "cm", "m"),
    "time": ("s", "min", "h"),
    "drift": ("mm/h",),
}
"""What is asked for, and the units it is told in."""


class BadScenario(ValueError):
    """A scenario that cannot be played; the text says where, what was found and what is expected."""


def amount(text: object, where: str = "an amount", of: str | None = None) -> float:
    """The number in the world's own unit: ``amount("5 gpm", of="flow")`` is 18.93 (l/min). A bare number stays so.

    `of` is what is asked for: volume, flow, length, time or drift; left out, any unit will do. Raises BadScenario.
    """
    units = _FACTORS if of is None else _OF[of]
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        return float(text)
    number, _, unit = (part.strip() for part in str(text).strip().partition(" "))
    try:
        value = float(number)
        if unit == "°F" and of is None:
            return (value - 32.0) / 1.8
        if unit not in units:
            raise KeyError(unit)
        return value * _FACTORS[unit]
    except (KeyError, ValueError):
        wanted = ", ".join(units)
        raise BadScenario(f'{where}: found "{text}", expected a number, a space and a unit of {wanted}') from None


def number(value: object, where: str) -> float:
    """A share or a count, as TOML has it. Raises BadScenario."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    raise BadScenario(f'{where}: found "{value}", expected a number such as 0.4')


def clock_s(text: str, where: str = "a time of day") -> float:
    """Seconds after midnight of "07:30". Raises BadScenario."""
    try:
        said = time.fromisoformat(text)
        return said.hour * 3600.0 + said.minute * 60.0
    except ValueError:
        raise BadScenario(f'{where}: found "{text}", expected hours and minutes such as "07:30"') from None
