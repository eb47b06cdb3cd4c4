"""SenML JSON (RFC 8428; version 26: RFC 9100) into records in the program's own units.

A pack stands or falls as a whole: one record that breaks the rules makes the pack a named reject. Text and data
values (`vs`, `vd`) are legal and of no use here; they are left out and named.
"""

import json
import re
from functools import lru_cache
from typing import Any, NamedTuple

import msgspec
from msgspec import UNSET, UnsetType

from monitor.readings import Record
from monitor.wire.rejected import Rejected, shown
from monitor.wire.units import conversion

__all__ = ["LONGEST_PACK", "Decoded", "Rejected", "Row", "decode", "resolve"]

LONGEST_PACK = 65_536
LONGEST_NAME = 200

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9\-:./_]*")
_NO_NUMBER = re.compile(rb'[:\[,]\s*-?(?:NaN|Infinity)\b')


class Row(msgspec.Struct, gc=False):
    """One SenML record as it stands in the JSON (RFC 8428 section 4.3); what is not there is UNSET."""

    bn: str | UnsetType = UNSET
    n: str | UnsetType = UNSET
    u: str | UnsetType = UNSET
    v: float | UnsetType = UNSET
    vb: bool | UnsetType = UNSET
    s: float | UnsetType = UNSET
    t: float | UnsetType = UNSET
    ut: float | UnsetType = UNSET
    vs: str | UnsetType = UNSET
    vd: str | UnsetType = UNSET
    bt: float | UnsetType = UNSET
    bu: str | UnsetType = UNSET
    bv: float | UnsetType = UNSET
    bs: float | UnsetType = UNSET
    bver: float | UnsetType = UNSET


class Decoded(NamedTuple):
    records: tuple[Record, ...]
    left_out: tuple[str, ...] = ()
    """Names of the records that carry text or data instead of a number or a truth value."""


_decoder = msgspec.json.Decoder(list[Row])
_encode = msgspec.json.Encoder().encode
_new = tuple.__new__  # half the cost of Record(…), and a record is made ten times a second for each signal


def decode(pack: bytes) -> Decoded:
    """The records of one pack, in its own order. Raises Rejected."""
    if len(pack) > LONGEST_PACK:
        raise Rejected("too-long", f"A pack has at most {LONGEST_PACK} bytes; this one has {len(pack)}.")
    try:
        rows = _decoder.decode(pack)
    except (ValueError, RecursionError) as fault:
        raise named(fault, pack) from None
    if _encode(rows).count(b":") != pack.count(b":") or b"\\" in pack:
        look_closely(pack)
    return resolve(rows)


def named(fault: Exception, text: bytes) -> Rejected:
    """The named reject for what the JSON decoder could not take."""
    if isinstance(fault, RecursionError):
        return Rejected("too-deep", "Brackets are nested too deep.")
    try:
        text.decode()
    except UnicodeDecodeError as bad:
        return Rejected("not-utf8", f"Byte {bad.start + 1} is no UTF-8.")
    found = str(fault)
    if "`float`" in found or "out of range" in found:
        return Rejected("not-a-number", f"A number is wanted: {found}.")
    if isinstance(fault, msgspec.ValidationError):
        return Rejected("wrong-form", f"This is JSON but no SenML pack: {found}.")
    if _NO_NUMBER.search(text):
        return Rejected("not-a-number", "NaN and Infinity are no numbers in JSON.")
    return Rejected("not-json", f"This is no JSON: {found}.")


def look_closely(text: bytes) -> None:
    """Refuses labels that stand twice and unknown ones that must be understood (RFC 8428 section 4.4).

    The typed decoder passes over both, so this is called when it did not account for every label in the text.
    """
    try:
        json.loads(text, object_pairs_hook=_check_labels)
    except RecursionError as fault:
        raise named(fault, text) from None
    except ValueError:  # a bad escape or byte where the typed decoder had no reason to look
        raise named(ValueError("a malformed text in a label it does not know"), text) from None


def _check_labels(pairs: list[tuple[str, Any]]) -> None:
    labels = [label for label, _ in pairs]
    for label in labels:
        if labels.count(label) > 1:
            raise Rejected("twice", f'The label "{shown(label)}" stands twice in one record.')
        if label.endswith("_"):
            raise Rejected("must-understand", f'The label "{shown(label)}" must be understood, and is not.')


class _Base:
    """The base fields in force (RFC 8428 section 4.1)."""

    __slots__ = ("name", "secondary", "sum", "time", "unit", "value")

    def __init__(self, secondary: bool) -> None:
        self.secondary = secondary
        self.name = self.unit = ""
        self.time = self.value = 0.0
        self.sum: float | UnsetType = UNSET

    def take(self, row: Row) -> None:
        if row.bn is not UNSET:
            self.name = row.bn
        if row.bt is not UNSET:
            self.time = row.bt
        if row.bu is not UNSET:
            self.unit = row.bu
        if row.bv is not UNSET:
            self.value = row.bv
        if row.bs is not UNSET:
            self.sum = row.bs


def resolve(rows: list[Row]) -> Decoded:
    """Base fields applied (RFC 8428 section 4.1 and 4.5), values in the program's own units. Raises Rejected."""
    if not rows:
        raise Rejected("empty", "The pack has no record.")
    base = _Base(_is_secondary(rows))
    records: list[Record] = []
    left_out: list[str] = []
    for row in rows:
        base.take(row)
        if row.vs is not UNSET or row.vd is not UNSET:
            left_out.append(_text_name(row, base))
        elif row.v is not UNSET or row.vb is not UNSET or row.s is not UNSET:
            records.append(_record(row, base))
        else:
            _must_be_base_only(row)
    return Decoded(tuple(records), tuple(left_out))


def _record(row: Row, base: _Base) -> Record:
    name = _full_name(base.name, "" if row.n is UNSET else row.n)
    into = conversion(base.unit if row.u is UNSET else row.u, base.secondary)
    unit, value, total = into.unit, None, None
    if row.v is not UNSET:
        value = (row.v + base.value) * into.factor
        if value - value or row.vb is not UNSET:
            raise _too_large(name) if row.vb is UNSET else _two_values(name)
    elif row.vb is not UNSET:
        value, unit = row.vb, "bool"
    if row.s is not UNSET or base.sum is not UNSET:
        total = ((row.s or 0.0) + (base.sum or 0.0)) * into.total_factor / into.total_divisor
        if total - total:
            raise _too_large(name)
    stamp = base.time if row.t is UNSET else base.time + row.t
    if stamp - stamp:
        raise _too_large(name)
    return _new(Record, (name, unit, value, total, stamp, None if row.ut is UNSET or row.ut <= 0.0 else row.ut))


def _too_large(name: str) -> Rejected:
    return Rejected("not-a-number", f"A number of {name} is too large to compute with.")


def _two_values(name: str) -> Rejected:
    return Rejected("two-values", f"{name} carries two of v, vb, vs and vd; a record has one.")


@lru_cache(maxsize=1024)
def _full_name(base_name: str, name: str) -> str:
    """Base name + name, which must keep to RFC 8428 section 4.5.1."""
    full = base_name + name
    if len(full) > LONGEST_NAME:
        raise Rejected("bad-name", f"A name has at most {LONGEST_NAME} characters.")
    if not _NAME.fullmatch(full):
        raise Rejected(
            "bad-name",
            f'"{shown(full)}" is no name: letters, digits and -:./_ make one, and it begins with a letter or digit.',
        )
    return full


def _is_secondary(rows: list[Row]) -> bool:
    """True for version 26, False for 10. All records of a pack have one version (RFC 8428 section 4.1)."""
    version = 10.0 if rows[0].bver is UNSET else rows[0].bver
    if version not in (10.0, 26.0):
        raise Rejected("version", f"The pack is of version {version:g}; 10 and 26 are understood.")
    for row in rows:
        if row.bver is not UNSET and row.bver != version:
            raise Rejected("version", "The pack mixes two versions.")
    return version == 26.0


def _text_name(row: Row, base: _Base) -> str:
    """The name of a record with text or data, which must carry nothing else."""
    name = _full_name(base.name, "" if row.n is UNSET else row.n)
    if sum(value is not UNSET for value in (row.v, row.vb, row.vs, row.vd)) > 1:
        raise _two_values(name)
    return name


def _must_be_base_only(row: Row) -> None:
    """A record without a value may only bring base fields (RFC 8428 section 4.2 and 5.1.7)."""
    if any(field is not UNSET for field in (row.n, row.u, row.t, row.ut)):
        name = "" if row.n is UNSET else row.n
        raise Rejected("no-value", f'The record "{shown(name)}" has neither a value nor a sum.')
