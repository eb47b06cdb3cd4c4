"""The book: what each day's water came to, by pump.

It is made of the rows that were counted second by second and that no retention takes (see `core/tally.py`). Where no
such row tells, what was believed every ten seconds does: for the quarter of an hour that is still open, and for a
journal of an older version. Water that can't be told apart between pumps then stands in a column of its own, so that
the columns add up to the water used.
"""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo
from itertools import pairwise
from pathlib import Path
from typing import Any

from monitor.changes import AlarmChange, Forecast, Tally
from monitor.journal.rows import CHANGES, microseconds
from monitor.journal.stored import FOREVER_US, Reader, opened
from monitor.journal.stretches import Stretch, stretches
from monitor.quantities import L_PER_GAL, System

FIRST_YEAR, LAST_YEAR = 1970, 2999
LONGEST_S = 30.0  # over a longer silence nothing is counted: nobody watched


@dataclass
class Day:
    """One local day. Volumes in l, by pump where they can be told apart."""

    day: str
    watched_s: float = 0.0
    in_l: float = 0.0
    used_l: float = 0.0
    pumps_l: dict[str, float] = field(default_factory=dict)
    chemical_l: dict[str, float] = field(default_factory=dict)
    alarms: int = 0
    answers: int = 0

    @property
    def untold_l(self) -> float:
        return self.used_l - sum(self.pumps_l.values())

    def add(self, figures: Mapping[str, Any]) -> None:
        """What was counted in a part of this day."""
        self.watched_s += figures["watched_s"]
        self.in_l += figures["in_l"]
        self.used_l += figures["used_l"]
        for mine, theirs in ((self.pumps_l, figures["pumps_l"]), (self.chemical_l, figures.get("chemical_l", {}))):
            for name, litres in theirs.items():
                mine[name] = mine.get(name, 0.0) + litres


Days = dict[str, Day]


def month_span(month: str, zone: tzinfo) -> tuple[float, float]:
    """From when to when a month such as 2026-11 is, Unix seconds. Raises ValueError for what is no month."""
    first = datetime.strptime(month, "%Y-%m").replace(tzinfo=zone)
    if not FIRST_YEAR <= first.year <= LAST_YEAR:
        raise ValueError(f"nothing was watched in {first.year}")
    return first.timestamp(), (first + timedelta(days=32)).replace(day=1).timestamp()


def book(path: Path, zone: tzinfo, since: float | None = None, until: float | None = None) -> list[Day]:
    """Every day with something in it, in order, from `since` up to before `until` (Unix s). Raises JournalFault."""
    days: Days = {}
    start_us = -FOREVER_US if since is None else microseconds(since)
    end_us = FOREVER_US if until is None else microseconds(until)
    with opened(path) as reader:
        counted = _counted(reader)
        for ended_us, tally in counted:
            if start_us < ended_us <= end_us:
                # it ends on a quarter of an hour, which may be midnight: the day is that of its last second
                _of(days, ended_us / 1e6 - 1.0, zone).add(tally.figures)
        told = [(ended_us - microseconds(tally.figures["watched_s"]), ended_us) for ended_us, tally in counted]
        for stretch in stretches(reader.runs.values(), start_us, end_us):
            for part in _untold(stretch, told):
                _believed(days, reader, part, zone)
            _alarms(days, reader, stretch, zone)
    return [days[key] for key in sorted(days)]


def _counted(reader: Reader) -> list[tuple[int, Tally]]:
    """When each tally ended, in wall time, and the tally; one for each beginning, in order.

    A restart may have counted on from a state that knew nothing of the row.
    """
    found: dict[float, tuple[int, Tally]] = {}
    for run in reader.runs.values():
        for tally in reader.rows(CHANGES[Tally], run.id, -FOREVER_US, FOREVER_US):
            late = tally.figures.get("ended")
            ended_us = microseconds(tally.at) + run.shift_us if late is None else microseconds(late)
            found[tally.began] = (ended_us, tally)
    return sorted(found.values(), key=lambda each: each[0])


def _untold(stretch: Stretch, told: Sequence[tuple[int, int]]) -> list[Stretch]:
    """The parts of a stretch that no tally covers. `told`: from when to when each does, in wall time, in order."""
    parts, from_us, shift_us = [], stretch.from_us, stretch.run.shift_us
    for began_us, ended_us in told:
        if ended_us - shift_us <= from_us or began_us - shift_us >= stretch.upto_us:
            continue
        parts.append((from_us, began_us - shift_us))
        from_us = max(from_us, ended_us - shift_us)
    parts.append((from_us, stretch.upto_us))
    return [stretch._replace(from_us=start, upto_us=end) for start, end in parts if end > start]


def _believed(days: Days, reader: Reader, stretch: Stretch, zone: tzinfo) -> None:
    for now, next_ in pairwise(_rows(reader, stretch, Forecast)):
        lasts_s = next_.at - now.at
        if 0.0 < lasts_s <= LONGEST_S:
            _of(days, now.at + stretch.run.shift_us / 1e6, zone).add(_flowed(now, lasts_s))


def _flowed(now: Forecast, lasts_s: float) -> dict[str, Any]:
    """What flowed from one forecast to the next, at the rates of the first."""
    minutes = lasts_s / 60.0
    return {
        "watched_s": lasts_s,
        "in_l": (now.inflow_l_min or 0.0) * minutes,
        "used_l": (now.draw_sum_l_min or 0.0) * minutes,
        "pumps_l": {name: draw * minutes for name, draw in now.draw_l_min.items() if draw},
    }


def _alarms(days: Days, reader: Reader, stretch: Stretch, zone: tzinfo) -> None:
    for change in _rows(reader, stretch, AlarmChange):
        day = _of(days, change.at + stretch.run.shift_us / 1e6, zone)
        day.alarms += change.state == "unacknowledged"
        day.answers += change.state == "acknowledged"


def _rows(reader: Reader, stretch: Stretch, kind: type[Any]) -> Iterator[Any]:
    yield from reader.rows(CHANGES[kind], stretch.run.id, stretch.from_us, stretch.upto_us)


def _of(days: Days, wall: float, zone: tzinfo) -> Day:
    key = datetime.fromtimestamp(wall, zone).date().isoformat()
    return days.setdefault(key, Day(key))


# -- as a table -------------------------------------------------------------------------------------------------------


def total(days: Iterable[Day]) -> Day:
    """All days as one, called ``sum``."""
    sum_ = Day("sum")
    for day in days:
        sum_.add(vars(day))
        sum_.alarms += day.alarms
        sum_.answers += day.answers
    return sum_


def pumps_of(days: Iterable[Day], pumps: Sequence[str]) -> list[str]:
    """The pumps of the rig file in its order, then those that are no longer in it."""
    return list(dict.fromkeys([*pumps, *(name for day in days for name in day.pumps_l)]))


def book_csv(days: Sequence[Day], pumps: Sequence[str], system: System) -> Iterator[str]:
    """The book as CSV, units in the headings, and the sum below."""
    unit, per = ("gal", L_PER_GAL) if system == "us" else ("l", 1.0)
    columns = pumps_of(days, pumps)
    named = [f"{pump} ({unit})" for pump in columns]
    yield line(["day", "watched (h)", f"water in ({unit})", f"water used ({unit})", *named,
                 f"not told apart ({unit})", f"chemical ({unit})", "alarms", "answered"])  # fmt: skip
    for day in [*days, total(days)] if days else []:
        by_pump = [day.pumps_l.get(name, 0.0) for name in columns]
        volumes = [day.in_l, day.used_l, *by_pump, day.untold_l]
        yield line([day.day, f"{day.watched_s / 3600:.2f}", *(f"{v / per + 0.0:.1f}" for v in volumes),
                    f"{sum(day.chemical_l.values()) / per:.2f}", day.alarms, day.answers])  # fmt: skip


def line(cells: Sequence[object]) -> str:
    """A line of CSV. A text that a spreadsheet would take for a formula gets a quote in front."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow([_safe(cell) for cell in cells])
    return out.getvalue()


def _safe(cell: object) -> object:
    risky = isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r") and not _is_number(cell)
    return f"'{cell}" if risky else cell


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True
