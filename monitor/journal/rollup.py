"""The minute roll-up: least, mean, most and count of each signal in each minute.

It is gathered in memory as blocks are stored and written every five minutes, so that a card is not worn by it. A mark
in the same transaction says how far it goes; what lies after the mark is gathered again when the file is opened.
What is believed is rolled up with the readings, under names of the node ``rig``.
"""

from collections.abc import Iterator

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

_MERGE = """insert into minute(signal, run, minute, n, lo, mean, hi) values (?, ?, ?, ?, ?, ?, ?)
    on conflict(signal, run, minute) do update set
    mean = (mean * n + excluded.mean * excluded.n) / (n + excluded.n),
    lo = min(lo, excluded.lo), hi = max(hi, excluded.hi), n = n + excluded.n"""
_ADD_DAY = """insert into day(day, packs, readings, bytes) values (?, ?, ?, ?) on conflict(day) do update set
    packs = packs + excluded.packs, readings = readings + excluded.readings, bytes = bytes + excluded.bytes"""


class Rollup:
    """What has been gathered since the last writing."""

    def __init__(self, db: Database) -> None:
        self._db = db
        self._heaps: dict[tuple[int, int, int], Heap] = {}
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
        """To the table, within the caller's transaction."""
        rows = [
            (signal, run, minute, heap.n, heap.lo, heap.mean, heap.hi)
            for (signal, run, minute), heap in sorted(self._heaps.items())
            if heap.n
        ]
        self._db.conn.executemany(_MERGE, rows)
        self._db.conn.executemany(_ADD_DAY, [(day, *counts) for day, counts in self._days.items()])
        self._heaps.clear()
        self._days.clear()

    def _add(self, run: int, trace: Trace) -> None:
        signal = self._signal(trace.name, trace.unit)
        if signal is None:
            return
        for minute, values in buckets(trace, 0, MINUTE_US):
            self._heaps.setdefault((signal, run, minute), Heap()).add(values)

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
