"""A recorded feed, JSON Lines: one line is one event. ``read_line(write_event(e), …) == e``, and the same event
always gives the same bytes.

Readings go out in the program's own units; what is read may be any SenML pack.
"""

import math
from typing import Any

import msgspec
from msgspec import UNSET, UnsetType

from monitor.readings import Act, Alive, Event, Pack, Passing, Record, Reject, WallStep
from monitor.wire.nodes import check_node
from monitor.wire.rejected import Rejected, shown
from monitor.wire.senml import Row, look_closely, named, resolve
from monitor.wire.units import conversion

LONGEST_LINE = 262_144
LATEST_AT = 1e11


class Line(msgspec.Struct, gc=False):
    """One line as it stands; what is not there is UNSET."""

    at: float
    feed: str | UnsetType = UNSET
    node: str | UnsetType = UNSET
    pack: list[Row] | UnsetType = UNSET
    alive: str | UnsetType = UNSET
    retained: bool | UnsetType = UNSET
    raw: str | UnsetType = UNSET
    kind: str | UnsetType = UNSET
    why: str | UnsetType = UNSET
    act: str | UnsetType = UNSET
    alarm: str | UnsetType | None = UNSET
    by: str | UnsetType = UNSET
    wall: float | UnsetType = UNSET


_OF_EVERY_ACT = ("at", "act", "by", "alarm")
_decoder = msgspec.json.Decoder(Line)
_encode = msgspec.json.Encoder().encode


def read_line(line: bytes, default_feed: str) -> Event:
    """The event on one line; `default_feed` is the feed of a line that names none. Raises Rejected."""
    read = _take(line)
    feed = read.feed or default_feed
    if read.pack is not UNSET:
        records = resolve(read.pack).records
        return Pack(read.at, feed, _node(read, records), records, read.retained is True)
    if read.alive is not UNSET:
        return Alive(read.at, feed, _node(read, ()), _is_up(read.alive), read.retained is True)
    if read.raw is not UNSET:
        return Reject(read.at, feed, read.kind or "unnamed", read.why or "", read.raw)
    if read.act is not UNSET:
        return Act(read.at, read.act, read.by or "", read.alarm or None, _detail(line))
    return Passing(read.at) if read.wall is UNSET else WallStep(read.at, read.wall)


def write_event(event: Event) -> bytes:
    """The event as one line, its LF included. An act's detail must not use the keys at, act, by and alarm."""
    if isinstance(event, Pack):
        line = Line(event.at, event.feed, event.node, _rows(event), retained=event.retained or UNSET)
    elif isinstance(event, Alive):
        said = "up" if event.up else "gone"
        line = Line(event.at, event.feed, event.node, alive=said, retained=event.retained or UNSET)
    elif isinstance(event, Reject):
        line = Line(event.at, event.feed, raw=event.raw, kind=event.kind, why=event.why)
    elif isinstance(event, Act):
        return _encode(_act_line(event)) + b"\n"
    else:
        line = Line(event.at, wall=event.wall if isinstance(event, WallStep) else UNSET)
    return _encode(line) + b"\n"


def _take(line: bytes) -> Line:
    if len(line) > LONGEST_LINE:
        raise Rejected("too-long", f"A recorded line has at most {LONGEST_LINE} bytes; this one has {len(line)}.")
    try:
        read = _decoder.decode(line)
    except (ValueError, RecursionError) as fault:
        raise named(fault, line) from None
    if _encode(read).count(b":") != line.count(b":") or b"\\" in line:
        look_closely(line)
    if not abs(read.at) < LATEST_AT:
        raise Rejected("wrong-form", f"The time {read.at:g} is no time of arrival in Unix seconds.")
    if (read.pack, read.alive, read.raw, read.act, read.wall).count(UNSET) < 4:
        raise Rejected("wrong-form", "A recorded line is one of pack, alive, raw, act and wall, not two.")
    return read


def _node(read: Line, records: tuple[Record, ...]) -> str:
    node = read.node
    if node is UNSET:
        node = records[0].name.partition("/")[0] if records else ""
    check_node(node)
    return node


def _is_up(said: str) -> bool:
    if said not in ("up", "gone"):
        raise Rejected("alive", f'A node says "up" or "gone", not "{shown(said)}".')
    return said == "up"


def _detail(line: bytes) -> dict[str, Any] | None:
    """What an act carries beyond its name, person and alarm: minutes, volume_l, pump, …"""
    said: dict[str, Any] = msgspec.json.decode(line)
    return {key: value for key, value in said.items() if key not in _OF_EVERY_ACT} or None


def _act_line(act: Act) -> dict[str, Any]:
    line: dict[str, Any] = {"at": act.at, "act": act.act}
    if act.alarm is not None:
        line["alarm"] = act.alarm
    if act.by:
        line["by"] = act.by
    return line | {key: value for key, value in (act.detail or {}).items() if key not in _OF_EVERY_ACT}


def _rows(pack: Pack) -> list[Row]:
    """The pack's records as SenML, under the node's base name where they all have it."""
    base_name = pack.node + "/"
    if not all(record.name.startswith(base_name) for record in pack.records):
        return [_row(record, record.name) for record in pack.records]
    rows = [_row(record, record.name.removeprefix(base_name)) for record in pack.records] or [Row()]
    rows[0].bn = base_name
    return rows


def _row(record: Record, name: str) -> Row:
    row = Row(n=name or UNSET, t=record.stamp or UNSET, ut=UNSET if record.every is None else record.every)
    if isinstance(record.value, bool):
        row.vb = record.value
        row.s = UNSET if record.total is None else record.total
        return row
    unit, value, total = _amounts(record.unit, record.value, record.total)
    row.u = unit or UNSET
    row.v = UNSET if value is None else value
    row.s = UNSET if total is None else total
    return row


def _amounts(unit: str, value: float | None, total: float | None) -> tuple[str, float | None, float | None]:
    """Unit, value and sum for the wire, chosen so that reading them gives back the same numbers to the last bit."""
    if unit != "l/min" or total is None:
        return unit, value, total
    for spelling in ("l/min", "l/s", "m3/s"):
        _, factor, total_factor, divisor = conversion(spelling, False)
        v = None if value is None else _undo(value, factor, 1.0)
        s = _undo(total, total_factor, divisor)
        if s is not None and (value is None or v is not None):
            return spelling, v, s
    return "l/s", None if value is None else value / 60.0, total


def _undo(inside: float, factor: float, divisor: float) -> float | None:
    """The number that times `factor`, by `divisor`, is exactly `inside`; None if there is no such double."""
    guess = inside * divisor / factor
    up, down = math.nextafter(guess, math.inf), math.nextafter(guess, -math.inf)
    for number in (guess, up, down, math.nextafter(up, math.inf), math.nextafter(down, -math.inf)):
        if number * factor / divisor == inside and math.isfinite(number):
            return number
    return None
