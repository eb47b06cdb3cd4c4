"""The roll-ups: least, mean, most and count of each signal in each minute, and in each half hour.

Half hours are for seasons and years, of which a picture would read millions of minutes. All is gathered in memory as
blocks are stored and written every five minutes, so that a card is not worn by it. A mark in the same transaction says
how far it goes; what lies after the mark is gathered again when the file is opened. What is believed is rolled up with
the readings, under names of the node ``rig``.
"""

from collections.abc import Iterator
from operator import itemgetter
from typing import NamedTuple, TypeAlias

from monitor.changes import Forecast
from monitor.journal.blocks import Block, Trace, traces
from monitor.journal.heaps import Heap, buckets
from monitor.journal.rows import text
from monitor.journal.tables import Database

MINUTE_US = 60_000_000
DAY_US = 1440 * MINUTE_US
EVERY_US = 5 * MINUTE_US
ROW_BYTES = 20  # a block's key, shape and count
MOST_SIGNALS = 2000
BELIEFS = {
    "rig/volume": ("volume_l", "l"),
    "rig/inflow": ("inflow_l_min", "l/min"),
    "rig/draw": ("draw_sum_l_min", "l/min"),
}
"""Name: (a forecast's figure, unit)."""

Key: TypeAlias = tuple[int, int, int]
"""Signal, run, and which of its minutes (or of a grain's lengths)."""
Heaps: TypeAlias = dict[Key, Heap]


class Grain(NamedTuple):
    """One roll-up. Its table's rows are numbered by how many of its lengths had passed on the daemon's time line."""

    table: str
    length_us: int


MINUTE, HALF_HOUR = GRAINS = Grain("minute", MINUTE_US), Grain("half_hour", 30 * MINUTE_US)

_MERGE = """insert into {0}(signal, run, {0}, n, lo, mean, hi) values (?, ?, ?, ?, ?, ?, ?)
    on conflict(signal, run, {0}) do update set
    mean = (mean * n + excluded.mean * excluded.n) / (n + excluded.n),
    lo = min(lo, excluded.lo), hi = max(hi, excluded.hi), n = n + excluded.n"""
_ADD_DAY = """insert into day(day, packs, readings, bytes) values (?, ?, ?, ?) on conflict(day) do update set
    packs = packs + excluded.packs, readings = readings + excluded.readings, bytes = bytes + excluded.bytes"""


class Rollup:
    """What has been gathered since the last writing."""

    def __init__(self, db: Database) -> None:
        self._db = db
        self._heaps: Heaps = {}
        self._days: dict[int, list[int]] = {}
        self._signals: dict[tuple[str, str], int] = {
            (name, unit): signal for signal, name, unit in db.execute("select id, name, unit from signal")
        }

    def add_block(self, run: int, block: Block, size: int, shift_us: int) -> None:
        """`size`: the bytes the block takes in the file. `shift_us`: what to add to get wall time."""
        packs = len(block.at_us)
        day = self._days.setdefault((block.at_us[0] + shift_us) // DAY_US, [0, 0, 0])
        for i, more in enumerate((packs, packs * len(block.shape.fields), size + ROW_BYTES)):
            day[i] += more
        for trace in traces(block):
            self._add(run, trace)

    def add_forecast(self, run: int, forecast: Forecast) -> None:
        for trace in belief_traces(forecast):
            self._add(run, trace)

    def write(self) -> None:
        """To the tables, within the caller's transaction."""
        for grain in GRAINS:
            rows = [(*key, heap.n, heap.lo, heap.mean, heap.hi) for key, heap in self._by(grain) if heap.n]
            self._db.conn.executemany(_MERGE.format(grain.table), rows)
        self._heaps.clear()
        self._db.conn.executemany(_ADD_DAY, [(day, *counts) for day, counts in self._days.items()])
        self._days.clear()

    def _add(self, run: int, trace: Trace) -> None:
        signal = self._signal(trace.name, trace.unit)
        if signal is None:
            return
        for minute, values in buckets(trace, 0, MINUTE_US):
            self._heaps.setdefault((signal, run, minute), Heap()).add(values)

    def _by(self, grain: Grain) -> list[tuple[Key, Heap]]:
        """What was gathered by the minute, in the grain's lengths, in the table's order."""
        minutes = grain.length_us // MINUTE_US
        found: Heaps = {}
        for (signal, run, minute), heap in self._heaps.items():
            found.setdefault((signal, run, minute // minutes), Heap()).join(heap)
        return sorted(found.items(), key=itemgetter(0))

    def _signal(self, name: str, unit: str) -> int | None:
        """The signal's number; None for a new one where there are too many to be true."""
        name, unit = text(name), text(unit)
        known = self._signals.get((name, unit))
        if known is None and len(self._signals) < MOST_SIGNALS:
            added = self._db.execute("insert into signal(name, unit) values (?, ?)", (name, unit))
            known = self._signals[name, unit] = int(added.lastrowid or 0)
        return known


def belief_traces(forecast: Forecast) -> Iterator[Trace]:
    """A forecast's figures as signals."""
    at_us = [round(forecast.at * 1e6)]
    for name, (figure, unit) in BELIEFS.items():
        value = getattr(forecast, figure)
        if value is not None:
            yield Trace(name, unit, at_us, (value,))
