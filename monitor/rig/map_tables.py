"""The [[feed.map]] and [[feed.register]] tables: readings of nodes that do not speak the wire format."""

from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from monitor.quantities import units_of
from monitor.rig.faults import fault, shown
from monitor.rig.kinds import Reading, Table, Text
from monitor.wire.mapped import BOOL, UNITS_TAKEN, Mapping, mapping, tokens
from monitor.wire.registers import Form

ON = 'the text that means yes, such as "RUNNING"'


def _node_reading(value: str) -> str:
    if "/" not in value:
        raise fault(shown(value), 'a reading\'s name with its node, such as "tank/level"')
    return value


def _unit(value: Any) -> str:
    if value not in UNITS_TAKEN:
        raise fault(shown(value), f"one of {', '.join(UNITS_TAKEN)}")
    return str(value)


def _pointer(value: Any) -> str:
    try:
        tokens(value if isinstance(value, str) else "no text")
    except ValueError as wrong:
        raise fault(shown(value), str(wrong)) from None
    return str(value)


def _one_topic(value: Any) -> str:
    if not isinstance(value, str) or not value or not value.isprintable() or len(value) > 200 or set("+#") & set(value):
        raise fault(shown(value), 'one whole topic such as "shed/sensor7/state", without + and #')
    return value


def _list(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


class _Mapped(Table):
    """What both kinds of mapping say of their reading."""

    reading: Annotated[Reading, Field(description='a reading\'s name such as "tank/level"')]
    unit: Annotated[str, BeforeValidator(_unit)] = Field(
        description='the unit it comes in, such as "cm", "gal", "psi" or "°F"; "bool" for yes and no'
    )
    scale: float = Field(1.0, description="a number: what comes is multiplied by it")
    add: float = Field(0.0, description="a number: added after scale, in the unit")

    @field_validator("reading")
    @classmethod
    def _has_a_node(cls, value: str) -> str:
        return _node_reading(value)

    @field_validator("scale")
    @classmethod
    def _says_something(cls, value: float) -> float:
        if value == 0.0:
            raise fault("0", "a number other than 0, since what comes is multiplied by it")
        return value


class MapTable(_Mapped):
    """One reading out of another node's messages."""

    topic: Annotated[str, BeforeValidator(_one_topic)] = Field(description="one whole topic, without + and #")
    pointer: Annotated[str, BeforeValidator(_pointer)] = Field(
        "", description='a JSON Pointer (RFC 6901) such as "/level/cm"; empty: the message is the number'
    )
    on: Text | None = Field(None, description=ON)

    @field_validator("on")
    @classmethod
    def _on_goes_with_bool(cls, value: str | None, info: ValidationInfo) -> str | None:
        if value is not None and info.data.get("unit", BOOL) != BOOL:
            raise fault(shown(value), f'none, unless unit = "{BOOL}"')
        return value

    @cached_property
    def mapping(self) -> Mapping:
        return mapping(self.reading, self.pointer, self.unit, self.scale, self.add, self.on)


class RegisterTable(_Mapped):
    """One reading out of a Modbus device."""

    device: int = Field(1, ge=1, le=247, description="the device's address on the line, 1 to 247")
    table: Literal["holding", "input", "coil", "discrete"] = Field(
        "holding", description="holding, input (registers), coil or discrete (bits)"
    )
    address: int = Field(ge=0, le=65535, description="the register's address from 0, as the line counts them")
    form: Form = Field("u16", description="u16, s16, u32, s32 or f32")
    low_word_first: bool = Field(False, description="true where the low half of a 32-bit number comes first")

    @field_validator("table")
    @classmethod
    def _bits_are_yes_or_no(cls, value: str, info: ValidationInfo) -> str:
        unit = info.data.get("unit")
        if unit is not None and (value in ("coil", "discrete")) != (unit == BOOL):
            raise fault(shown(value), f'coil or discrete with unit = "{BOOL}", holding or input with any other')
        return value

    @cached_property
    def mapping(self) -> Mapping:
        return mapping(self.reading, "", self.unit, self.scale, self.add)


MapTables = Annotated[tuple[MapTable, ...], BeforeValidator(_list)]
RegisterTables = Annotated[tuple[RegisterTable, ...], BeforeValidator(_list)]
EVERY = f'a time such as "1 s" ({", ".join(units_of("time"))})'
