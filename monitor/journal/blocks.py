"""Readings packed: packs of one shape, a few seconds of them, as one compressed block of columns.

What stays the same from pack to pack (names, units, which fields there are) is the *shape* and is stored once. What
changes is numbers: the time since the pack before, then each value, sum and stamp. Column by column, byte by byte of
the doubles, they compress to a few bytes a reading, and come back to the last bit.
"""

import json
import struct
import zlib
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import accumulate, pairwise
from operator import itemgetter
from typing import Literal, NamedTuple

from monitor.readings import Pack, Record

MOST_PACKS = 512
LONGEST_US = 30_000_000
"""No block reaches further in time than this."""
RELATIVE = 2.0**28
"""RFC 8428 section 4.5.3: a stamp below this is relative to arrival."""

Kind = Literal["real", "bool", "none"]


class Field(NamedTuple):
    """One record's unchanging part."""

    name: str
    unit: str
    kind: Kind
    total: bool
    stamp: bool
    every: float | None


class Shape(NamedTuple):
    """One pack's unchanging part."""

    feed: str
    node: str
    retained: bool
    fields: tuple[Field, ...]


class Columns(NamedTuple):
    """Where a field's numbers stand among a block's columns."""

    value: int | None
    total: int | None
    stamp: int | None


class Block(NamedTuple):
    """Packs of one shape: when each came, and the columns of their numbers."""

    shape: Shape
    at_us: list[int]
    columns: list[tuple[float, ...]]


class Trace(NamedTuple):
    """What a block says of one signal: moments in microseconds on the daemon's time line, rising, and values."""

    name: str
    unit: str
    at_us: list[int]
    values: tuple[float, ...]


def gather(packs: Iterable[Pack]) -> list[Block]:
    """The packs as blocks, in the order of their first packs."""
    groups: list[tuple[Shape, list[Pack]]] = []
    newest: dict[Shape, list[Pack]] = {}
    for pack in packs:
        shape = shape_of(pack)
        group = newest.get(shape)
        if group is None or len(group) >= MOST_PACKS or pack.at - group[0].at > LONGEST_US / 1e6:
            group = newest[shape] = []
            groups.append((shape, group))
        group.append(pack)
    return [_block(shape, group) for shape, group in groups]


def shape_of(pack: Pack) -> Shape:
    fields = tuple(
        [
            (name, unit, _kind(value), total is not None, stamp != 0.0, every)
            for name, unit, value, total, stamp, every in pack.records
        ]
    )
    return Shape(pack.feed, pack.node, pack.retained, fields)  # type: ignore[arg-type]  # plain tuples equal fields


def _kind(value: float | bool | None) -> Kind:
    if value is None:
        return "none"
    return "bool" if isinstance(value, bool) else "real"


def _block(shape: Shape, packs: list[Pack]) -> Block:
    return Block(shape, [round(pack.at * 1e6) for pack in packs], list(zip(*map(_numbers, packs), strict=True)))


def _numbers(pack: Pack) -> list[float]:
    numbers: list[float] = []
    for _, _, value, total, stamp, _ in pack.records:
        if value is not None:
            numbers.append(value)
        if total is not None:
            numbers.append(total)
        if stamp != 0.0:
            numbers.append(stamp)
    return numbers


def encode(block: Block) -> bytes:
    """A block as it is stored; the time of its first pack is not in it."""
    at_us = block.at_us
    steps = [0, *[late - early for early, late in pairwise(at_us)]]
    numbers = [number for column in block.columns for number in column]
    raw = struct.pack(f"<{len(steps)}q{len(numbers)}d", *steps, *numbers)
    squeeze = zlib.compressobj(wbits=-15)
    return squeeze.compress(b"".join([raw[byte::8] for byte in range(8)])) + squeeze.flush()


def decode(shape: Shape, first_us: int, packs: int, data: bytes) -> Block:
    """The block back. Raises ValueError where the data are damaged."""
    try:
        planes = zlib.decompress(data, wbits=-15)
        count = len(planes) // 8
        raw = bytearray(len(planes))
        for byte in range(8):
            raw[byte::8] = planes[byte * count : (byte + 1) * count]
        numbers = struct.unpack(f"<{packs}q{count - packs}d", raw)
    except (zlib.error, struct.error, ValueError) as fault:
        raise ValueError(f"a block of readings is damaged: {fault}") from None
    columns = [numbers[start : start + packs] for start in range(packs, count, packs)]
    return Block(shape, list(accumulate(numbers[1:packs], initial=first_us)), columns)


def unpack(block: Block) -> Iterator[Pack]:
    """The packs of a block, in order."""
    shape = block.shape
    rows = zip(*block.columns, strict=True) if block.columns else iter([()] * len(block.at_us))
    parts = list(zip(shape.fields, columns_of(shape), strict=True))
    for at_us, row in zip(block.at_us, rows, strict=True):
        yield Pack(at_us / 1e6, shape.feed, shape.node, tuple([_record(f, c, row) for f, c in parts]), shape.retained)


def _record(field: Field, columns: Columns, row: tuple[float, ...]) -> Record:
    name, unit, kind, _, _, every = field
    value = None if columns.value is None else row[columns.value]
    return Record(
        name,
        unit,
        bool(value) if kind == "bool" else value,
        None if columns.total is None else row[columns.total],
        0.0 if columns.stamp is None else row[columns.stamp],
        every,
    )


@lru_cache(maxsize=1024)
def columns_of(shape: Shape) -> tuple[Columns, ...]:
    """For each field the columns it takes."""
    found: list[Columns] = []
    at = 0
    for _, _, kind, total, stamp, _ in shape.fields:
        there = [kind != "none", total, stamp]
        ends = list(accumulate(there, initial=at))
        found.append(Columns(*[column if has else None for has, column in zip(there, ends, strict=False)]))
        at = ends[-1]
    return tuple(found)


def traces(block: Block, names: frozenset[str] | None = None) -> Iterator[Trace]:
    """What a block says of its signals (of `names` alone, if given); a record that carries only a sum says the sum.

    A retained pack says nothing: it is old, and nobody knows how old.
    """
    if block.shape.retained:
        return
    for (name, unit, *_), (value, total, stamp) in zip(block.shape.fields, columns_of(block.shape), strict=True):
        column = total if value is None else value
        if column is None or (names is not None and name not in names):
            continue
        if stamp is None:
            yield Trace(name, unit, block.at_us, block.columns[column])
        else:
            moments = map(moment_us, block.at_us, block.columns[stamp])
            pairs = sorted(zip(moments, block.columns[column], strict=True), key=itemgetter(0))
            yield Trace(name, unit, [at for at, _ in pairs], tuple([value for _, value in pairs]))


def moment_us(at_us: int, stamp: float) -> int:
    """When a value was measured. Only relative stamps count: nobody here knows whose clock is right."""
    return min(at_us, at_us + round(stamp * 1e6)) if abs(stamp) < RELATIVE else at_us


def form(shape: Shape) -> str:
    """A shape as it is stored."""
    return json.dumps(shape, separators=(",", ":"))


def from_form(text: str) -> Shape:
    feed, node, retained, fields = json.loads(text)
    return Shape(feed, node, retained, tuple(Field(*field) for field in fields))
