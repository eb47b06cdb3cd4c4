"""Calibrations into the text of a rig file, with the owner's comments and order left as they are."""

import re
from collections.abc import Callable
from typing import Any

import tomlkit
from tomlkit.items import AoT, Table

from monitor.quantities import SHOWN, UNITS, Dimension, System

_SHAPE_TABLE = re.compile(r"^[ \t]*\[\s*tank\s*\.\s*shape\s*\].*\n?(?:(?![ \t]*\[).*\n?)*", re.MULTILINE)
FINER: dict[Dimension, int] = {"length": 2, "volume": 2, "flow": 2, "k_factor": 3}


def said(value: float, dimension: Dimension, system: System) -> str:
    """An amount as it stands in a rig file, fine enough to lose nothing that was measured."""
    unit, _ = SHOWN[dimension, system]
    _, factor, offset = UNITS[unit]
    return f"{(value - offset) / factor:.{FINER[dimension]}f} {unit}"


def adopted(text: str, calibrations: list[dict[str, Any]], system: System) -> str:
    """The file's text with each calibration written where it belongs. Raises LookupError where that place is gone."""
    if any(each["what"] == "fill" for each in calibrations):
        text = _SHAPE_TABLE.sub(_only_comments, text)
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
    if "strapping" in tank:
        tank["strapping"] = table
        return
    if "shape" in tank:
        said_of_it = tank["shape"].trivia.comment if hasattr(tank["shape"], "trivia") else ""
        if said_of_it:
            table.comment(said_of_it)
        del tank["shape"]
    _before_tables(tank, "strapping", table)


def _only_comments(found: re.Match[str]) -> str:
    """A table of its own, wherever it stands, goes; what the owner has noted in it stays."""
    lines = found.group().splitlines(keepends=True)
    return "".join(line[line.find("#") :] for line in lines if "#" in line or not line.strip())


def _before_tables(table: Any, new: str, value: Any) -> None:
    """A new key before the sub-tables: after them it would belong to the last one."""
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
