"""What the rig file left open, and what was taken instead."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from monitor.quantities import Dimension, System, write, write_time
from monitor.rig.kinds import Table
from monitor.rig.model import Rig

# an attribute's unit stands at the end of its name; the longer ending first
DIMENSIONS: dict[str, Dimension] = {
    "_l_min": "flow",
    "_per_l": "k_factor",
    "_l": "volume",
    "_pa": "pressure",
    "_m": "length",
    "_kg": "mass",
    "_c": "temperature",
}
LEFT_OPEN = {"timezone": "the system's", "mqtt": "the broker of the first mqtt feed"}
"""What it means that these have no value. Whatever else has none is simply not there."""


def placed(rig: Rig) -> Iterator[tuple[str, Table]]:
    """Every table of a rig with its place in the file."""
    yield "[rig]", rig.about
    yield "[tank]", rig.tank
    yield from _numbered("tank.level", rig.tank.levels)
    if rig.supply is not None:
        yield "[supply]", rig.supply
    yield from _numbered("pump", rig.pumps, always=True)
    yield "[extra]", rig.extra
    yield "[warn]", rig.warn
    yield from _numbered("feed", rig.feeds, always=True)
    yield "[journal]", rig.journal
    yield "[page]", rig.page
    yield "[notices]", rig.notices
    if rig.tow is not None:
        yield "[tow]", rig.tow


def _numbered(name: str, tables: tuple[Table, ...], always: bool = False) -> Iterator[tuple[str, Table]]:
    for number, table in enumerate(tables, 1):
        yield f"[[{name}]] {number}" if always or len(tables) > 1 else f"[{name}]", table


def defaults(rig: Rig) -> Iterator[tuple[str, str, str]]:
    """(table, key, value in the owner's units) of each default that was filled in."""
    for place, table in placed(rig):
        for key, value in _left_out(table, rig.about.units):
            yield place, key, value


def _left_out(table: Table, system: System, within: str = "") -> Iterator[tuple[str, str]]:
    for name, field in type(table).model_fields.items():
        key, value = within + (field.alias or name), getattr(table, name)
        if name in table.model_fields_set:
            if isinstance(value, Table):
                yield from _left_out(value, system, f"{key}.")
        elif value is not None or key in LEFT_OPEN:
            yield key, said(name, value, system) if value is not None else LEFT_OPEN[key]


def said(name: str, value: Any, system: System) -> str:
    """A value as its owner reads it; its attribute's name tells the unit."""
    match value:
        case bool():
            return "true" if value else "false"
        case tuple():
            return ", ".join(said(name, each, system) for each in value)
        case Table():
            fields = type(value).model_fields.items()
            return ", ".join(f"{field.alias or key} {said(key, getattr(value, key), system)}" for key, field in fields)
        case float() if name.endswith("_s"):
            return write_time(value)
        case float():
            dimension = next((of for ending, of in DIMENSIONS.items() if name.endswith(ending)), None)
            return write(value, dimension, system) if dimension else f"{value:g}"
        case Path():
            return str(value)
    return str(value)
