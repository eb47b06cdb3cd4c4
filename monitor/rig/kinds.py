"""The kinds of value a rig file holds, each read from text with its own plain refusal."""

import re
from collections.abc import Callable
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any, Literal, NamedTuple
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo

from monitor.quantities import BadQuantity, Dimension, read, units_of
from monitor.rig.faults import LONGEST_SHOWN, Refused, fault, shown

LONGEST_TEXT = 200

# RFC 8428 section 4.5.1: a name begins with a letter or digit and has only these characters
_SENML_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9\-:./_]*")


class Table(BaseModel):
    """One table of the rig file: nothing in it is guessed, changed later, or passed over."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class Threshold(NamedTuple):
    """An amount in the unit readings come in."""

    value: float
    unit: str

    @property
    def dimension(self) -> Dimension:
        return next(dimension for dimension, unit in _COMPARED.items() if unit == self.unit)


_COMPARED: dict[Dimension, str] = {"pressure": "Pa", "flow": "l/min", "frequency": "Hz"}


# no trailer comes near these, in the program's units; they keep slips of the keyboard out, and sums finite
LARGEST: dict[Dimension, float] = {
    "volume": 1e6,
    "flow": 1e5,
    "length": 100.0,
    "time": 1e6,
    "pressure": 1e8,
    "temperature": 1e3,
    "k_factor": 1e6,
    "frequency": 1e6,
    "mass": 1e5,
}
SMALLEST = 1e-4


def quantity(
    dimension: Dimension, least: Literal["any", "zero", "more"] = "any", most: float | None = None
) -> Callable[[Any], float]:
    """A reader of one dimension: of any sign, from zero up, or of more than zero; up to `most` in our own units."""
    largest = LARGEST[dimension] if most is None else most
    bound = {"any": "", "zero": ", 0 or more", "more": ", above 0"}[least]

    def check(value: Any) -> float:
        try:
            amount = read(short(value), dimension)
        except BadQuantity as bad:
            raise fault(bad.found if isinstance(value, str) else shown(value), bad.expected + bound) from None
        if (least != "any" and amount < 0) or (least == "more" and amount == 0):
            raise fault(shown(value), f"a {dimension.replace('_', '-')}{bound}")
        if abs(amount) > largest or (least != "any" and 0 < amount < SMALLEST):
            raise fault(shown(value), f"a {dimension.replace('_', '-')} that a trailer can have")
        return amount

    return check


def short(value: Any) -> Any:
    """The value itself, or, for a text that would spoil a message, what can be shown of it."""
    if isinstance(value, str) and (len(value) > LONGEST_SHOWN or not value.isprintable()):
        return shown(value).strip('"')
    return value if isinstance(value, str) else shown(value)


def _threshold(value: Any) -> Threshold:
    for dimension, unit in _COMPARED.items():
        try:
            return Threshold(quantity(dimension)(value), unit)
        except Refused:
            continue
    units = [unit for dimension in _COMPARED for unit in units_of(dimension)]
    raise fault(shown(value), f"a pressure, a flow or a frequency with its unit: {', '.join(units)}")


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip() or len(value) > LONGEST_TEXT or not value.isprintable():
        raise fault(shown(value), f"a text of one line, up to {LONGEST_TEXT} characters")
    return value


def _reading(value: Any) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_TEXT or not _SENML_NAME.fullmatch(value):
        raise fault(shown(value), 'a reading\'s name such as "tank/level": letters, digits and - : . / _ only')
    if value == "rig" or value.startswith("rig/"):
        raise fault(shown(value), 'a name of another node: "rig" is the daemon\'s own')
    return value


def _path(value: Any, info: ValidationInfo) -> Path:
    if isinstance(value, Path):
        return folder_of(info) / value
    return folder_of(info) / _text(value)


def folder_of(info: ValidationInfo) -> Path:
    """Where relative paths start: the rig file's folder."""
    folder: Path = (info.context or {}).get("folder", Path())
    return folder


def _timezone(value: Any) -> str:
    name = _text(value)
    try:
        return ZoneInfo(name).key
    except (ZoneInfoNotFoundError, ValueError, OSError):
        near = get_close_matches(name, sorted(available_timezones()), 1)
        example = f'"{near[0]}" (did you mean that?)' if near else 'such as "America/Chicago"'
        raise fault(shown(value), f"a time zone by its IANA name, {example}") from None


Volume = Annotated[float, BeforeValidator(quantity("volume", "more"))]
VolumeOrNone = Annotated[float, BeforeValidator(quantity("volume", "zero"))]
Flow = Annotated[float, BeforeValidator(quantity("flow", "more"))]
Length = Annotated[float, BeforeValidator(quantity("length", "more"))]
HoseLength = Annotated[float, BeforeValidator(quantity("length", "more", most=1000.0))]
LengthOrNone = Annotated[float, BeforeValidator(quantity("length", "zero"))]
Offset = Annotated[float, BeforeValidator(quantity("length"))]
Pressure = Annotated[float, BeforeValidator(quantity("pressure", "more"))]
Mass = Annotated[float, BeforeValidator(quantity("mass", "more"))]
MassOrNone = Annotated[float, BeforeValidator(quantity("mass", "zero"))]
Span = Annotated[float, BeforeValidator(quantity("time", "more"))]
Temperature = Annotated[float, BeforeValidator(quantity("temperature"))]
KFactor = Annotated[float, BeforeValidator(quantity("k_factor", "more"))]
Above = Annotated[Threshold, BeforeValidator(_threshold)]
Text = Annotated[str, BeforeValidator(_text)]
Reading = Annotated[str, BeforeValidator(_reading)]
File = Annotated[Path, BeforeValidator(_path)]
TimeZone = Annotated[str, BeforeValidator(_timezone)]
