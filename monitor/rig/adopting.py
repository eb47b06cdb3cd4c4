"""Calibrations into the text of a rig file, with the owner's comments and order left as they are."""

from collections.abc import Callable
from typing import Any

import tomlkit
from tomlkit.items import AoT, Table

from monitor.quantities import SHOWN, UNITS, Dimension, System

FINER: dict[Dimension, int] = {"length": 2, "volume": 2, "flow": 2, "k_factor": 3}


def said(value: float, dimension: Dimension, system: System) -> str:
    """An amount as it stands in a rig file, fine enough to lose nothing that was measured."""
    unit, _ = SHOWN[dimension, system]
    _, factor, offset = UNITS[unit]
    return f"{(value - offset) / factor:.{FINER[dimension]}f} {unit}"


def adopted(text: str, calibrations: list[dict[str, Any]], system: System) -> str:
    """The file's text with each calibration written where it belongs. Raises LookupError where that place is gone."""
    document: Any = tomlkit.parse(text)
    for each in calibrations:
        _WRITERS[each["what"]](document, each["of"], each["after"], system)
    return tomlkit.dumps(document)


def _fill(document: Any, _of: str, rows: list[list[float]], system: System) -> None:
    tank = document["tank"]
    table = tomlkit.array()
    for height_m, volume_l in rows:
        table.append([said(height_m, "length", system), said(volume_l, "volume", system)])
    table.multiline(True)
    if "shape" in tank:
        _in_place_of(tank, "shape", "strapping", table)
    else:
        tank["strapping"] = table


def _in_place_of(table: Any, old: str, new: str, value: Any) -> None:
    """A new key before the sub-tables: after them it would belong to the last one."""
    del table[old]
    subs = [name for name in table if isinstance(table[name], Table | AoT)]
    later = {name: table[name] for name in subs}
    for name in subs:
        del table[name]
    table[new] = value
    for name, sub in later.items():
        table[name] = sub


def _bucket(document: Any, _of: str, after: float, system: System) -> None:
    supply = document["supply"]
    if "k_factor" in supply:
        supply["k_factor"] = said(after, "k_factor", system)
    else:
        supply["meter_factor"] = round(after, 5)


def _level(document: Any, of: str, after: list[float], system: System) -> None:
    scale, offset_m = after
    level = _named(document["tank"]["level"], "reading", of)
    if scale != 1.0 or "scale" in level:
        level["scale"] = round(scale, 5)
    level["offset"] = said(offset_m, "length", system)


def _draw(document: Any, of: str, after: float, system: System) -> None:
    _named(document["pump"], "name", of)["draw"] = said(after, "flow", system)


def _named(tables: Any, key: str, name: str) -> Any:
    """The one of several tables that goes by this name; a pump without a name goes by its number."""
    listed = tables if isinstance(tables, list) else [tables]
    for number, table in enumerate(listed, 1):
        if table.get(key, f"Pump {number}") == name:
            return table
    raise LookupError(name)


_WRITERS: dict[str, Callable[[Any, str, Any, System], None]] = {
    "fill": _fill,
    "bucket": _bucket,
    "level": _level,
    "draw": _draw,
}
