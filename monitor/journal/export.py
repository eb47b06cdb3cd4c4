"""The journal for others: CSV with units in the headings, the recorded feed, a back-up while the daemon runs."""

import csv
import io
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from monitor.changes import AlarmChange, Forecast
from monitor.journal.blocks import LONGEST_US, Shape, moment_us
from monitor.journal.faults import JournalFault
from monitor.journal.rebuild import in_order, rebuild
from monitor.journal.rows import CHANGES, microseconds
from monitor.journal.stored import FOREVER_US, Reader, opened
from monitor.journal.stretches import Stretch, stretches
from monitor.readings import Pack
from monitor.wire.recorded import write_event

SUM_UNITS = {"l/min": "l"}


def recorded(
    path: Path, since: float | None = None, until: float | None = None, run: int | None = None
) -> Iterator[bytes]:
    """The feed as it came, as lines of a recorded feed. Raises JournalFault."""
    return map(write_event, rebuild(path, since, until, run))


def readings_csv(
    path: Path, since: float | None = None, until: float | None = None, names: Iterable[str] | None = None
) -> Iterator[str]:
    """Every reading of a window of wall time, a line a moment, a column a signal. Raises JournalFault."""
    with opened(path) as reader:
        columns = _columns(reader.shapes(), None if names is None else set(names))
        yield _line(["time (UTC)", *columns])
        for stretch in _window(reader, since, until):
            for pack in _packs(reader, stretch):
                for moment, cells in _cells(pack, columns):
                    yield _line([_time(moment + stretch.run.shift_us), *cells])


def forecasts_csv(path: Path, since: float | None = None, until: float | None = None) -> Iterator[str]:
    """Every forecast of a window of wall time. Raises JournalFault."""
    yield _line([
        "time (UTC)", "volume (l)", "its standard deviation (l)", "inflow (l/min)", "net (l/min)", "draw (l/min)",
        "dry, early (s)", "dry, likely (s)", "dry, late (s)", "dry if kept (s)", "dry flat out (s)", "level", "supply",
    ])  # fmt: skip
    with opened(path) as reader:
        for at, change in _changes(reader, Forecast, since, until):
            dry = change.dry_s or {}
            yield _line([
                at, change.volume_l, change.volume_sd_l, change.inflow_l_min, change.net_l_min, change.draw_sum_l_min,
                dry.get("p05"), dry.get("p50"), dry.get("p95"), change.dry_if_kept_s, change.dry_flat_out_s,
                change.level_quality, change.supply_quality,
            ])  # fmt: skip


def alarms_csv(path: Path, since: float | None = None, until: float | None = None) -> Iterator[str]:
    """Every alarm change of a window of wall time, with what the crew was told. Raises JournalFault."""
    yield _line(["time (UTC)", "alarm", "priority", "state", "concerns", "by", "told"])
    with opened(path) as reader:
        for at, change in _changes(reader, AlarmChange, since, until):
            yield _line([at, *change[1:7]])


def backup(path: Path, target: Path) -> None:
    """A whole copy at `target`, of one moment, also while a daemon writes. Raises JournalFault."""
    if target.exists():
        raise JournalFault(f"{target} is there already.", "Name a new file for the back-up.")
    part = target.with_name(target.name + ".part")
    try:
        part.unlink(missing_ok=True)
        with opened(path) as reader:
            _copy(reader, part)
        part.rename(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        why = f"The back-up {target} can't be written: {error.strerror or error}."
        do = "See that its folder exists, has space and may be written, or name another place."
        raise JournalFault(why, do) from error


def _copy(reader: Reader, part: Path) -> None:
    try:
        with closing(sqlite3.connect(part)) as copy:
            reader.db.conn.backup(copy)
            copy.execute("pragma journal_mode = delete")  # one file, to be read anywhere
    except sqlite3.Error as error:
        raise OSError(str(error)) from error


# -- what a line is made of -----------------------------------------------------------------------------------


def _line(cells: Sequence[Any]) -> str:
    line = io.StringIO()
    csv.writer(line, lineterminator="\n").writerow([_safe(cell) for cell in cells])
    return line.getvalue()


def _safe(cell: object) -> object:
    """A text that a spreadsheet would take for a formula gets a quote in front."""
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def _time(wall_us: int) -> str:
    try:
        return datetime.fromtimestamp(wall_us / 1e6, UTC).isoformat(" ", "milliseconds").removesuffix("+00:00")
    except (ValueError, OverflowError, OSError):
        return str(wall_us / 1e6)


def _window(reader: Reader, since: float | None, until: float | None) -> list[Stretch]:
    return stretches(
        reader.runs.values(),
        -FOREVER_US if since is None else microseconds(since),
        FOREVER_US if until is None else microseconds(until),
    )


def _changes(reader: Reader, kind: type[Any], since: float | None, until: float | None) -> Iterator[tuple[str, Any]]:
    for stretch in _window(reader, since, until):
        for change in reader.rows(CHANGES[kind], stretch.run.id, stretch.from_us, stretch.upto_us):
            yield _time(microseconds(change.at) + stretch.run.shift_us), change


def _columns(shapes: Iterable[Shape], names: set[str] | None) -> dict[str, int]:
    """Headings with their places, in the order the signals first came."""
    headings = {}
    for shape in shapes:
        for field in shape.fields:
            if names is None or field.name in names:
                if field.kind != "none":
                    headings[_heading(field.name, field.unit)] = 0
                if field.total:
                    headings[_sum_heading(field.name, field.unit)] = 0
    return {heading: place for place, heading in enumerate(headings)}


def _heading(name: str, unit: str) -> str:
    return name if unit in ("bool", "") else f"{name} ({unit})"


def _sum_heading(name: str, unit: str) -> str:
    return f"{name}, sum ({SUM_UNITS.get(unit, f'{unit} s')})"


def _packs(reader: Reader, stretch: Stretch) -> Iterator[Pack]:
    blocks = reader.blocks_of(stretch.run, stretch.from_us - LONGEST_US, stretch.upto_us)
    since, until = stretch.from_us / 1e6, stretch.upto_us / 1e6
    return (pack for pack in in_order(blocks) if since <= pack.at < until and not pack.retained)


def _cells(pack: Pack, columns: dict[str, int]) -> Iterator[tuple[int, list[Any]]]:
    """A pack's lines: one, or where its records speak of several moments, one for each."""
    at_us = microseconds(pack.at)
    lines: dict[int, list[Any]] = {}
    for name, unit, value, total, stamp, _ in pack.records:
        moment = at_us if stamp == 0.0 else moment_us(at_us, stamp)
        for heading, number in ((_heading(name, unit), value), (_sum_heading(name, unit), total)):
            if number is not None and heading in columns:
                cells = lines.setdefault(moment, [None] * len(columns))
                cells[columns[heading]] = int(number) if isinstance(number, bool) else number
    yield from sorted(lines.items())

