"""What was: any signal over any window, as least, mean and most in each of so many points.

Up to about an hour is read from the raw readings, longer windows from a roll-up and what is not in it yet: minutes, or
half hours where no point is shorter than one.
Windows are in wall time, as far as it is known. Every question opens the file anew, to read only.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Literal, NamedTuple, TypeAlias

from monitor.changes import AlarmChange, Forecast
from monitor.journal.blocks import LONGEST_US, Trace, traces
from monitor.journal.heaps import Heap, buckets, clipped
from monitor.journal.rollup import BELIEFS, HALF_HOUR, MINUTE, MINUTE_US, belief_traces
from monitor.journal.rows import CHANGES, microseconds
from monitor.journal.schema import place
from monitor.journal.stored import FOREVER_US, Reader, Stored, opened
from monitor.journal.stretches import Stretch, stretches

Source: TypeAlias = Literal["raw", "minute", "half hour"]
Share: TypeAlias = tuple[int, float, float, float, int]
"""Which point, and the least, mean, most and number of some of its values."""
RAW_US = 3_700_000_000
LATE_US = 600_000_000
"""So much later than it was measured a reading may have come and still stand in its place."""
MOST_POINTS = 10_000
_new = tuple.__new__  # half the cost of Point(…), and a picture has thousands


class Signal(NamedTuple):
    """What can be asked for. Names of the node ``rig`` are what was believed, the others what was read."""

    name: str
    unit: str


class Point(NamedTuple):
    """A signal over one point of a picture. `at`: where it begins, Unix seconds."""

    at: float
    lo: float
    mean: float
    hi: float
    n: int


class Series(NamedTuple):
    """A signal over a window. Points where nothing is known are left out."""

    name: str
    unit: str
    source: Source
    points: list[Point]


class History:
    """Raises JournalFault where there is no journal to read."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def signals(self) -> list[Signal]:
        with opened(self.path) as reader:
            return [Signal(name, unit) for name, unit, _ in _signals(reader).values()]

    def span(self) -> tuple[float, float] | None:
        """The first and the last moment it tells of, Unix seconds in wall time; None while it is empty."""
        with opened(self.path) as reader:
            spans = [(run.began_us + run.shift_us, run.upto_us + run.shift_us) for run in reader.runs.values()]
        return (min(first for first, _ in spans) / 1e6, max(last for _, last in spans) / 1e6) if spans else None

    def series(self, names: list[str], since: float, until: float, points: int = 1000) -> list[Series]:
        """Each signal from `since` up to before `until` (Unix seconds, wall time) in at most so many points.

        A name nobody has sent has no points and no unit. Raises ValueError for a window that is none.
        """
        if not (since < until and 1 <= points <= MOST_POINTS):
            raise ValueError(f"a window rises, in 1 to {MOST_POINTS} points; not {since:g} to {until:g} in {points}")
        with opened(self.path) as reader:
            return _Picture(reader, microseconds(since), microseconds(until), points).series(names)

    def past(self, minutes: float) -> list[tuple[float, float | None, float | None]]:
        """Volume and its standard deviation (l) each ten seconds up to the last, on the daemon's time line."""
        with opened(self.path) as reader:
            if not reader.runs:
                return []
            newest = reader.runs[max(reader.runs)]
            until_us = newest.upto_us + newest.shift_us + 1
            window = stretches(reader.runs.values(), until_us - round(minutes * MINUTE_US), until_us)
            return [
                (forecast.at + (stretch.run.shift_us - newest.shift_us) / 1e6, forecast.volume_l, forecast.volume_sd_l)
                for stretch in window
                for forecast in _forecasts(reader, stretch)
            ]

    def alarms(self, since: float, until: float) -> list[AlarmChange]:
        """What people were told in a window of wall time, at its time in wall time."""
        with opened(self.path) as reader:
            return [
                change._replace(at=change.at + stretch.run.shift_us / 1e6)
                for stretch in stretches(reader.runs.values(), microseconds(since), microseconds(until))
                for change in reader.rows(CHANGES[AlarmChange], stretch.run.id, stretch.from_us, stretch.upto_us)
            ]


class _Picture:
    """One window, cut into points."""

    def __init__(self, reader: Reader, since_us: int, until_us: int, points: int) -> None:
        self.reader, self.since_us, self.marks = reader, since_us, reader.marks()
        self.window = stretches(reader.runs.values(), since_us, until_us)
        self.raw = until_us - since_us <= RAW_US and self._raw_is_there()
        self.width_us = max(-(-(until_us - since_us) // points), 1 if self.raw else MINUTE_US)
        coarse = self.width_us >= HALF_HOUR.length_us and reader.has(HALF_HOUR.table)
        self.grain = HALF_HOUR if coarse else MINUTE

    def series(self, names: list[str]) -> list[Series]:
        known = _signals(self.reader)
        wanted = {name: known[name] for name in names if name in known}
        heaps: dict[str, dict[int, Heap]] = {name: {} for name in wanted}
        shares: dict[str, dict[int, Share]] = {name: {} for name in names}
        for stretch in self.window:
            for name, (_, _, signal) in wanted.items() if not self.raw else ():
                _merge(shares[name], self._rolled(stretch, signal))
            for trace in self._traces(stretch, frozenset(wanted)):
                if trace.unit == wanted[trace.name][1]:
                    self._add(heaps[trace.name], stretch, trace)
        for name, found in heaps.items():
            _merge(shares[name], {number: (number, h.lo, h.mean, h.hi, h.n) for number, h in found.items() if h.n})
        source: Source = "raw" if self.raw else "minute" if self.grain is MINUTE else "half hour"
        return [Series(name, known.get(name, ("", "", 0))[1], source, self._points(shares[name])) for name in names]

    def _points(self, shares: dict[int, Share]) -> list[Point]:
        since_us, width_us = self.since_us, self.width_us
        return [
            _new(Point, ((since_us + number * width_us) / 1e6, lo, mean, hi, n))
            for number, lo, mean, hi, n in sorted(shares.values())
        ]

    def _raw_is_there(self) -> bool:
        """False where the window's raw readings have been thinned away."""
        thinned = self.marks.get("thinned", 0)
        return all(place(run.id, run.began_us, from_us) >= thinned for run, from_us, _ in self.window)

    # -- from the roll-up -------------------------------------------------------------------------------------

    def _rolled(self, stretch: Stretch, signal: int) -> dict[int, Share]:
        table, length_us = self.grain
        first, last = stretch.from_us // length_us, (stretch.upto_us - 1) // length_us
        offset_us = stretch.run.shift_us - self.since_us
        values = length_us, offset_us, self.width_us, signal, stretch.run.id, first, last
        return {row[0]: row for row in self.reader.db.execute(_ROLLED.format(table), values)}

    # -- from raw readings, or those that are not in the roll-up yet --------------------------------------------

    def _traces(self, stretch: Stretch, names: frozenset[str]) -> Iterator[Trace]:
        for stored in self._blocks(stretch, names):
            yield from traces(stored.block, names)
        if not names.isdisjoint(BELIEFS):
            for forecast in self._forecasts(stretch):
                yield from (trace for trace in belief_traces(forecast) if trace.name in names)

    def _blocks(self, stretch: Stretch, names: frozenset[str]) -> Iterator[Stored]:
        after = 0 if self.raw else self.marks.get("rolled_block", 0)
        start_us, end_us = stretch.from_us - LONGEST_US, stretch.upto_us + LATE_US
        return self.reader.blocks_of(stretch.run, start_us, end_us, names, after)

    def _forecasts(self, stretch: Stretch) -> Iterator[Forecast]:
        if self.raw:
            return _forecasts(self.reader, stretch)
        rolled = self.marks.get("rolled_forecast_run", 0), self.marks.get("rolled_forecast_us", -FOREVER_US)
        later = _forecasts(self.reader, stretch) if stretch.run.id >= rolled[0] else iter(())
        return (each for each in later if (stretch.run.id, microseconds(each.at)) > rolled)

    def _add(self, heaps: dict[int, Heap], stretch: Stretch, trace: Trace) -> None:
        origin_us = self.since_us - stretch.run.shift_us
        for number, values in buckets(clipped(trace, stretch.from_us, stretch.upto_us), origin_us, self.width_us):
            heaps.setdefault(number, Heap()).add(values)


# a row that begins before the window falls in its first point: SQLite's division rounds towards nought
_ROLLED = """select ({0} * ? + ?) / ? as number, min(lo), sum(mean * n) / sum(n), max(hi), sum(n)
    from {0} where signal = ? and run = ? and {0} between ? and ? group by number"""


def _merge(shares: dict[int, Share], more: dict[int, Share]) -> None:
    """More of the same signal: where two speak of one point, together."""
    both = shares.keys() & more.keys()
    joined = {number: _joined(shares[number], more[number]) for number in both}
    shares |= more
    shares |= joined


def _joined(one: Share, other: Share) -> Share:
    number, lo, mean, hi, n = one
    _, other_lo, other_mean, other_hi, more = other
    return number, min(lo, other_lo), (mean * n + other_mean * more) / (n + more), max(hi, other_hi), n + more


def _signals(reader: Reader) -> dict[str, tuple[str, str, int]]:
    """Name, unit and number of each signal by its name: where the unit changed, the newest."""
    rows = reader.db.execute("select name, unit, id from signal order by id")
    return {name: (name, unit, number) for name, unit, number in rows}


def _forecasts(reader: Reader, stretch: Stretch) -> Iterator[Forecast]:
    return reader.rows(CHANGES[Forecast], stretch.run.id, stretch.from_us, stretch.upto_us)
