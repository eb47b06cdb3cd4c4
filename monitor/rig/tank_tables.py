"""The [tank] and [tank.level] tables."""

from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from monitor.quantities import write
from monitor.rig.faults import Fault, Refused, all_of, fault, shown
from monitor.rig.kinds import (
    LARGEST,
    Length,
    LengthOrNone,
    Offset,
    Reading,
    Table,
    Temperature,
    Volume,
    VolumeOrNone,
    quantity,
)
from monitor.rig.shape import read_shape
from monitor.tank import shapes
from monitor.tank.level import Measures, Range
from monitor.tank.shapes import Shape
from monitor.tank.strapping import SHORTFALL, Row, Strapping, falling

VOLUME = 'a volume with its unit, such as "320 gal"'
PAIR = 2


class Outlet(Table):
    """Where the pumps draw from."""

    bore_m: Length = Field(alias="bore", description='a length such as "1.5 in"')
    height_m: LengthOrNone = Field(0.0, alias="height", description='a length above the floor, such as "0 in"')


def _pair(value: Any) -> list[Any]:
    if not isinstance(value, list) or len(value) != PAIR:
        raise fault(shown(value), "a list of two texts, low and high")
    return value


def _range(value: Any) -> Range:
    kinds: tuple[Literal["length", "pressure", "volume"], ...] = ("length", "pressure", "volume")
    ends = _pair(value)
    for kind in kinds:
        try:
            low, high = (quantity(kind)(end) for end in ends)
        except ValueError:
            continue
        if low != high:
            return Range(low, high, kind)
    raise fault(shown(value), 'what 4 mA and 20 mA mean, two lengths, pressures or volumes such as ["0 in", "42 in"]')


class LevelSignal(Table):
    """One level sensor: which reading, what it measures, and how that becomes a height."""

    reading: Reading = Field(description='a reading\'s name such as "tank/level"')
    measures: Measures = Field(description="height, distance, pressure, current or volume")
    zero_m: Length | None = Field(
        None,
        alias="zero",
        validate_default=True,
        description='how high over the floor the sensor sits, such as "44 in"',
    )
    offset_m: Offset = Field(0.0, alias="offset", description="how high over the floor the sensor counts from")
    scale: float = Field(
        1.0, gt=0.1, lt=10.0, description="a number: heights are multiplied by it, before offset is added"
    )
    range: Annotated[Range, BeforeValidator(_range)] | None = Field(
        None, validate_default=True, description='what 4 and 20 mA mean, such as ["0 in", "42 in"]'
    )
    absolute: bool = Field(False, description="true where a pressure sensor includes the air's pressure, else false")
    assumed_c: Temperature | None = Field(None, alias="assumes", description="the air temperature the sensor assumes")
    ahead_m: Offset = Field(0.0, alias="ahead", description="how far the sensor sits ahead of the tank's middle")

    @field_validator("zero_m", "range")
    @classmethod
    def _wanted(cls, value: Any, info: ValidationInfo) -> Any:
        key = info.field_name or ""
        if value is None and {"zero_m": "distance", "range": "current"}[key] == info.data.get("measures"):
            raise fault("nothing", cls.model_fields[key].description or "")
        return value

    @field_validator("zero_m", "offset_m", "range", "absolute", "assumed_c")
    @classmethod
    def _has_meaning(cls, value: Any, info: ValidationInfo) -> Any:
        measures = info.data.get("measures")
        if value and measures and measures not in _MEANING[info.field_name or ""]:
            raise fault("a setting", f'none, since measures = "{measures}"')
        return value


_MEANING: dict[str, tuple[Measures, ...]] = {
    "zero_m": ("distance", "current"),
    "offset_m": ("height", "distance", "pressure", "current"),
    "range": ("current",),
    "absolute": ("pressure", "current"),
    "assumed_c": ("distance", "current"),
}


def _row(value: Any) -> Row:
    height, volume = _pair(value)
    height_m, volume_l = all_of([("", quantity("length", "zero"), height), ("", quantity("volume", "zero"), volume)])
    return height_m, volume_l


def _rows(value: Any) -> tuple[Row, ...]:
    if not isinstance(value, list) or len(value) < PAIR:
        raise fault(shown(value), 'at least two rows such as ["6 in", "28.4 gal"]')
    table = all_of((f" row {number}", _row, row) for number, row in enumerate(value, 1))
    falls = [
        Fault("", f" row {fall + 1}", f"{shown(value[fall])} after {shown(value[fall - 1])}", "rows that rise in both")
        for fall in falling(table)
    ]
    if falls:
        raise Refused(falls)
    return tuple(table)


def _band(value: Any) -> tuple[float, float]:
    low_l, high_l = all_of(("", quantity("volume", "zero"), each) for each in _pair(value))
    return low_l, high_l


def default_full_l(read: dict[str, Any]) -> float:
    """A twentieth below the capacity; where that is at fault, no limit, so that no fault follows from it."""
    return 0.95 * float(read.get("capacity_l", LARGEST["volume"]))


def default_band_l(read: dict[str, Any]) -> tuple[float, float]:
    """From a tenth to six tenths of what lies between heel and full."""
    heel_l, full_l = float(read.get("heel_l", 0.0)), float(read.get("full_l", LARGEST["volume"]))
    return heel_l + 0.1 * (full_l - heel_l), heel_l + 0.6 * (full_l - heel_l)


class Tank(Table):
    """The tank: what it holds, the marks on it, and its shape."""

    capacity_l: Volume = Field(alias="capacity", description=VOLUME)
    full_l: Volume = Field(alias="full", default_factory=default_full_l, description=VOLUME)
    heel_l: VolumeOrNone = Field(alias="heel", description=VOLUME)
    band_l: Annotated[tuple[float, float], BeforeValidator(_band)] = Field(
        alias="band",
        default_factory=default_band_l,
        description='two volumes, low and high, such as ["50 gal", "180 gal"]',
    )
    tow_limit_l: Volume | None = Field(None, alias="tow_limit", description=VOLUME)
    outlet: Outlet | None = Field(None, description='{ bore = "1.5 in", height = "0 in" }')
    shape: Annotated[Any, BeforeValidator(read_shape)] = Field(None, description="the tank's kind and sizes")
    rows: Annotated[tuple[Row, ...], BeforeValidator(_rows)] | None = Field(
        None, alias="strapping", validate_default=True, description='rows such as ["6 in", "28.4 gal"]'
    )
    levels: tuple[LevelSignal, ...] = Field(alias="level")

    @field_validator("full_l")
    @classmethod
    def _full_fits(cls, full_l: float, info: ValidationInfo) -> float:
        return _at_most(full_l, info, "capacity")

    @field_validator("tow_limit_l")
    @classmethod
    def _tow_limit_fits(cls, tow_limit_l: float | None, info: ValidationInfo) -> float | None:
        return tow_limit_l if tow_limit_l is None else _at_most(tow_limit_l, info, "capacity")

    @field_validator("heel_l")
    @classmethod
    def _heel_fits(cls, heel_l: float, info: ValidationInfo) -> float:
        mark = "full" if "full_l" in info.data else "capacity"
        return _at_most(heel_l, info, mark, itself=False)

    @field_validator("band_l")
    @classmethod
    def _band_fits(cls, band_l: tuple[float, float], info: ValidationInfo) -> tuple[float, float]:
        low, high = band_l
        heel_l, full_l = info.data.get("heel_l", 0.0), info.data.get("full_l", LARGEST["volume"])
        if not heel_l <= low < high <= full_l:
            raise fault(volumes(low, high), f"low below high, both from heel to full ({volumes(heel_l, full_l)})")
        return band_l

    @field_validator("shape")
    @classmethod
    def _shape_holds(cls, shape: Shape | None, info: ValidationInfo) -> Shape | None:
        if shape is not None:
            _reaches(shapes.volume_l(shape, shape.bounds_m[-1]), info)
        return shape

    @field_validator("rows")
    @classmethod
    def _table_reaches(cls, rows: tuple[Row, ...] | None, info: ValidationInfo) -> tuple[Row, ...] | None:
        if "shape" in info.data and (rows is None) == (info.data["shape"] is None):
            raise fault("neither" if rows is None else "both", "one of shape and strapping")
        if rows is not None:
            _reaches(rows[-1][1], info)
        return rows

    @cached_property
    def strapping(self) -> Strapping:
        """Height to volume and back, from the rows given or from the shape."""
        return Strapping.of_tank(self.rows or shapes.rows(self.shape), self.capacity_l)

    @cached_property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """(height in m, full width in m), rising: the tank as it looks from its end."""
        return tuple(shapes.outline(self.shape) if self.shape else shapes.table_outline(self.strapping))


def _at_most(volume_l: float, info: ValidationInfo, mark: str, itself: bool = True) -> float:
    """The volume, refused where it lies above another mark of the tank (or on it, unless `itself`)."""
    limit_l = info.data.get(f"{mark}_l")
    if limit_l is not None and (volume_l > limit_l or (volume_l == limit_l and not itself)):
        raise fault(volumes(volume_l), f"{'at most' if itself else 'less than'} {mark} ({volumes(limit_l)})")
    return volume_l


def _reaches(holds_l: float, info: ValidationInfo) -> None:
    capacity_l = info.data.get("capacity_l")
    if capacity_l is not None and holds_l <= (1 - SHORTFALL) * capacity_l:
        raise fault(f"a tank that ends at {volumes(holds_l)}", f"one that reaches the capacity ({volumes(capacity_l)})")


def volumes(*volumes_l: float) -> str:
    """Volumes in both systems, for a fault: the owner's units may be at fault themselves."""
    return " and ".join(f"{write(v, 'volume', 'us', 1)} = {write(v, 'volume', 'metric', 1)}" for v in volumes_l)
