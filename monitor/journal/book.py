"""The book: what each day's water came to, by pump, from what was believed every ten seconds.

Water that can't be told apart between pumps stands in a column of its own, so that the columns add up to the water
used.
"""

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

from monitor.changes import AlarmChange, Forecast
from monitor.journal.rows import CHANGES
from monitor.journal.stored import FOREVER_US, Reader, opened
from monitor.journal.stretches import Stretch, stretches
from monitor.quantities import L_PER_GAL, System

LONGEST_S = 30.0  # over a longer silence nothing is counted: nobody watched


class Day(NamedTuple):
    """One local day. Volumes in l; `by_pump` in the order the pumps were asked for."""

    day: str
    watched_s: float
    in_l: float
    used_l: float
    by_pump_l: tuple[float, ...]
    alarms: int

    @property
    def untold_l(self) -> float:
        return self.used_l - sum(self.by_pump_l)


def book(path: Path, pumps: Sequence[str], zone: tzinfo) -> list[Day]:
    """Every day with something in it, in order. Raises JournalFault."""
    days: dict[str, Day] = {}
    with opened(path) as reader:
        for stretch in stretches(reader.runs.values(), -FOREVER_US, FOREVER_US):
            forecasts: Iterator[Forecast] = _rows(reader, stretch, Forecast)
            for now, next_ in pairwise(forecasts):
                _add(days, _day(now.at, stretch, zone), now, next_.at - now.at, pumps)
            changes: Iterator[AlarmChange] = _rows(reader, stretch, AlarmChange)
            for change in changes:
                key = _day(change.at, stretch, zone)
                known = days.setdefault(key, _empty(key, pumps))
                days[key] = known._replace(alarms=known.alarms + (change.state == "unacknowledged"))
    return [days[key] for key in sorted(days)]


def book_csv(path: Path, pumps: Sequence[str], zone: tzinfo, system: System) -> Iterator[str]:
    """The book as CSV, units in the headings, and the sum below. Raises JournalFault."""
    unit, per = ("gal", L_PER_GAL) if system == "us" else ("l", 1.0)
    days = book(path, pumps, zone)
    named = [f"{pump} ({unit})" for pump in pumps]
    yield line(["day", "watched (h)", f"water in ({unit})", f"water used ({unit})", *named,
                 f"not told apart ({unit})", "alarms"])  # fmt: skip
    for day in [*days, _sum(days, pumps)] if days else []:
        volumes = [day.in_l, day.used_l, *day.by_pump_l, day.untold_l]
        yield line([day.day, f"{day.watched_s / 3600:.2f}", *(f"{v / per + 0.0:.1f}" for v in volumes), day.alarms])


def _rows(reader: Reader, stretch: Stretch, kind: type[Forecast] | type[AlarmChange]) -> Iterator[Any]:
    yield from reader.rows(CHANGES[kind], stretch.run.id, stretch.from_us, stretch.upto_us)


def _day(at: float, stretch: Stretch, zone: tzinfo) -> str:
    return datetime.fromtimestamp(at + stretch.run.shift_us / 1e6, zone).date().isoformat()


def _empty(key: str, pumps: Sequence[str]) -> Day:
    return Day(key, 0.0, 0.0, 0.0, tuple(0.0 for _ in pumps), 0)


def _add(days: dict[str, Day], key: str, now: Forecast, lasts_s: float, pumps: Sequence[str]) -> None:
    """What flowed from one forecast to the next, at the rates of the first."""
    if not 0.0 < lasts_s <= LONGEST_S:
        return
    known, minutes = days.setdefault(key, _empty(key, pumps)), lasts_s / 60.0
    by_pump = zip(known.by_pump_l, pumps, strict=True)
    days[key] = known._replace(
        watched_s=known.watched_s + lasts_s,
        in_l=known.in_l + (now.inflow_l_min or 0.0) * minutes,
        used_l=known.used_l + (now.draw_sum_l_min or 0.0) * minutes,
        by_pump_l=tuple(litres + (now.draw_l_min.get(name) or 0.0) * minutes for litres, name in by_pump),
    )


def _sum(days: Sequence[Day], pumps: Sequence[str]) -> Day:
    return Day(
        "sum",
        sum(day.watched_s for day in days),
        sum(day.in_l for day in days),
        sum(day.used_l for day in days),
        tuple(sum(day.by_pump_l[n] for day in days) for n in range(len(pumps))),
        sum(day.alarms for day in days),
    )


def line(cells: Sequence[object]) -> str:
    """A line of CSV."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells)
    return out.getvalue()
