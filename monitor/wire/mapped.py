"""Readings out of what somebody else's node sends: other JSON by JSON Pointer, plain numbers, words for yes and no.

JSON Pointer: RFC 6901. Nothing in here knows topics, brokers or the time.
"""

import re
from collections.abc import Iterable
from typing import Any, NamedTuple

import msgspec

from monitor.quantities import UNITS, Dimension
from monitor.readings import Record
from monitor.wire.rejected import Rejected, shown
from monitor.wire.senml import LONGEST_PACK, named
from monitor.wire.units import ALWAYS_TAKEN, PRIMARY, SECONDARY

YES = ("true", "on", "yes", "1")
NO = ("false", "off", "no", "0")
BOOL = "bool"

_INSIDE: dict[Dimension, str] = {
    "volume": "l", "flow": "l/min", "length": "m", "time": "s", "pressure": "Pa", "temperature": "Cel",
    "current": "A", "frequency": "Hz",
}  # fmt: skip
_AS_IT_IS = ("Pa", "Cel", "count", "rad", "deg", "%", BOOL)
_SENML = {**PRIMARY, **SECONDARY, **ALWAYS_TAKEN}
_NUMBER = re.compile(r"[-+]?(?:\d{1,300}(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d{1,3})?")
_INDEX = re.compile(r"0|[1-9][0-9]{0,9}")
_BAD_ESCAPE = re.compile(r"~(?![01])")

UNITS_TAKEN: tuple[str, ...] = tuple(
    dict.fromkeys([*(unit for unit, (of, _, _) in UNITS.items() if of in _INSIDE), *_SENML, *_AS_IT_IS])
)
"""What `unit` may say: the units of the rig file, those of the wire, counts, angles, yes and no."""


class Mapping(NamedTuple):
    """One reading: inside = (found × scale + shift) × factor + offset, in `unit`; for yes and no, `on` is the yes."""

    reading: str
    pointer: str
    unit: str
    factor: float = 1.0
    offset: float = 0.0
    scale: float = 1.0
    shift: float = 0.0
    on: str | None = None


def mapping(
    reading: str, pointer: str, unit: str, scale: float = 1.0, shift: float = 0.0, on: str | None = None
) -> Mapping:
    """A mapping from a unit that people or the wire write. Raises ValueError for a unit nobody knows."""
    inside, factor, offset = _into(unit)
    return Mapping(reading, pointer, inside, factor, offset, scale, shift, on)


def _into(unit: str) -> tuple[str, float, float]:
    if unit in UNITS and (of := UNITS[unit][0]) in _INSIDE:
        return _INSIDE[of], UNITS[unit][1], UNITS[unit][2]
    if unit in _SENML:
        return _SENML[unit].unit, _SENML[unit].factor, 0.0
    if unit in _AS_IT_IS:
        return unit, 1.0, 0.0
    raise ValueError(f"no unit {unit}")


def tokens(pointer: str) -> list[str]:
    """The reference tokens of a JSON Pointer (RFC 6901 sections 3 and 4). Raises ValueError for what is none."""
    if not pointer:
        return []
    if not pointer.startswith("/") or _BAD_ESCAPE.search(pointer):
        raise ValueError('a JSON Pointer is empty or begins with "/"; in it "~1" stands for "/" and "~0" for "~"')
    return [token.replace("~1", "/").replace("~0", "~") for token in pointer[1:].split("/")]


def at(document: Any, pointer: str) -> Any:
    """What a JSON Pointer points at. Raises LookupError where there is nothing (RFC 6901 section 7)."""
    for token in tokens(pointer):
        if isinstance(document, dict):
            document = document[token]
        elif isinstance(document, list) and _INDEX.fullmatch(token):
            document = document[int(token)]
        else:
            raise LookupError(token)
    return document


def decode(payload: bytes, mappings: Iterable[Mapping]) -> tuple[list[Record], list[Rejected]]:
    """A record for each mapping that finds its value in the payload, and a reject for each that does not.

    Raises Rejected where the payload as a whole is of no use.
    """
    document = _document(payload)
    records, rejects = [], []
    for each in mappings:
        try:
            records.append(record(document, each))
        except Rejected as refused:
            rejects.append(refused)
    return records, rejects


def record(document: Any, how: Mapping) -> Record:
    """The reading in a document. Raises Rejected."""
    try:
        found = at(document, how.pointer)
    except LookupError:
        why = f'For {how.reading} there is nothing at "{shown(how.pointer)}" in the message.'
        raise Rejected("pointer", why) from None
    if how.unit == BOOL:
        return Record(how.reading, BOOL, _yes_or_no(found, how))
    return number_record(_number(found, how), how)


def number_record(number: float, how: Mapping) -> Record:
    """The reading of a number as it came. Raises Rejected for one that is too large."""
    value = (number * how.scale + how.shift) * how.factor + how.offset
    if value - value:
        raise Rejected("not-a-number", f"A number of {how.reading} is too large to compute with.")
    return Record(how.reading, how.unit, value)


def _document(payload: bytes) -> Any:
    """JSON, or, where it is none but a short text, that text."""
    if len(payload) > LONGEST_PACK:
        raise Rejected("too-long", f"A message has at most {LONGEST_PACK} bytes; this one has {len(payload)}.")
    try:
        return msgspec.json.decode(payload)
    except (ValueError, RecursionError) as fault:
        text = payload.strip()
        if text.isascii() and len(text) <= 40 and not text.startswith((b"{", b"[", b'"')) and text:
            return text.decode()
        raise named(fault, payload) from None


def _number(found: Any, how: Mapping) -> float:
    if isinstance(found, int | float) and not isinstance(found, bool):
        try:
            return float(found)
        except OverflowError:
            pass
    elif isinstance(found, str) and _NUMBER.fullmatch(found.strip()):
        return float(found)
    raise Rejected("not-a-number", f"For {how.reading} a number is wanted, and {shown(repr(found))} came.")


def _yes_or_no(found: Any, how: Mapping) -> bool:
    said = found.strip() if isinstance(found, str) else str(found).lower()
    if how.on is not None:
        return said == how.on
    if isinstance(found, bool | str | int) and said.lower() in (*YES, *NO):
        return said.lower() in YES
    raise Rejected("not-a-number", f"For {how.reading} yes or no is wanted, and {shown(repr(found))} came.")
