"""What is in a journal, how big it is, how much a day: for its owner."""

from datetime import UTC, datetime, tzinfo
from pathlib import Path

from monitor.journal.faults import JournalDamaged
from monitor.journal.schema import run_of, since_began_us, used_bytes
from monitor.journal.stored import FOREVER_US, Reader, opened


def summary(path: Path, zone: tzinfo = UTC) -> str:
    """The text of ``holdwater journal``, times in `zone`. Raises JournalFault."""
    with opened(path) as reader:
        lines = [f"Journal {path}", _size(path, reader)]
        if reader.runs:
            lines += [*_span(reader, zone), *_readings(reader, zone), *_told(reader), *_gaps(reader, zone)]
        else:
            lines.append("It is empty.")
    return "\n".join(lines) + "\n"


def check(path: Path) -> list[str]:
    """What is broken in a journal, each in a sentence; reads all of it. Raises JournalFault where there is none."""
    try:
        with opened(path) as reader:
            reader.damaged = 0
            found = [str(row[0]) for row in reader.db.execute("pragma integrity_check")]
            broken = [] if found == ["ok"] else [f"SQLite says: {each}." for each in found]
            for _ in reader.blocks(0, FOREVER_US):
                pass
    except JournalDamaged as fault:
        return [fault.why]
    return broken + ([f"{_many(reader.damaged, 'block')} of readings can't be read."] if reader.damaged else [])


def _size(path: Path, reader: Reader) -> str:
    log = path.with_name(path.name + "-wal")
    log_bytes = log.stat().st_size if log.exists() else 0
    free = path.stat().st_size - used_bytes(reader.db)
    parts = [f"{_mb(path.stat().st_size)} on disk"]
    if free > 0:
        parts.append(f"{_mb(free)} of it free to be written again")
    if log_bytes:
        parts.append(f"{_mb(log_bytes)} more in its log")
    return f"Size      {', '.join(parts)}"


def _span(reader: Reader, zone: tzinfo) -> list[str]:
    runs = reader.runs.values()
    starts = sum(run.began_by == "start" for run in runs)
    began = min(run.began_us + run.shift_us for run in runs)
    upto = max(run.upto_us + run.shift_us for run in runs)
    return [f"From      {_when(began, zone)}", f"Up to     {_when(upto, zone)}, {_many(starts, 'start')} of the daemon"]


def _readings(reader: Reader, zone: tzinfo) -> list[str]:
    packs, readings, size = _stored(reader)
    signals = reader.db.execute("select count(*) from signal where name not like 'rig/%'").fetchone()[0]
    lines = [f"Readings  {readings:,} of {_many(signals, 'signal')} in {packs:,} packs"]
    (oldest,) = reader.db.execute("select min(id) from readings").fetchone()
    if oldest is not None:
        run = reader.runs[run_of(oldest)]
        raw_us = run.began_us + since_began_us(oldest) + run.shift_us
        lines.append(f"          each one kept since {_when(raw_us, zone)}, least, mean and most of each minute before")
    days = max(1, reader.db.execute("select count(*) from day").fetchone()[0])
    if readings:
        mean = f"mean of {_many(days, 'day')} on which any came"
        lines.append(f"A day     {_mb(size / days)} of readings, {mean}, {size / readings:.1f} bytes a reading")
    return lines


def _stored(reader: Reader) -> tuple[int, int, int]:
    """Packs, readings and bytes ever stored: the days' tally, and what is not in it yet."""
    packs, readings, size = reader.db.execute("select total(packs), total(readings), total(bytes) from day").fetchone()
    for stored in reader.blocks(reader.marks().get("rolled_block", 0) + 1, FOREVER_US):
        many = len(stored.block.at_us)
        packs, readings, size = packs + many, readings + many * len(stored.block.shape.fields), size + stored.size
    return int(packs), int(readings), int(size)


def _told(reader: Reader) -> list[str]:
    counts = {
        table: reader.db.execute(f"select count(*) from {table}").fetchone()[0]
        for table in ("forecast", "alarm_change", "act", "reject")
    }
    return [
        f"Forecasts {counts['forecast']:,}",
        f"Alarms    {_many(counts['alarm_change'], 'change')}, {_many(counts['act'], 'touch')} by people",
        f"Rejects   {counts['reject']:,}",
    ]


def _gaps(reader: Reader, zone: tzinfo) -> list[str]:
    gaps = reader.db.execute("select run, from_us, dropped from gap order by id desc limit 5").fetchall()
    return [
        f"Missing   {_many(dropped, 'item')} from {_when(from_us + reader.runs[run].shift_us, zone)} on"
        for run, from_us, dropped in gaps
    ]


def _mb(size: float) -> str:
    return f"{size / 1e6:.1f} MB" if size >= 1e5 else f"{size / 1e3:.0f} kB"


def _many(count: int, of: str) -> str:
    return f"{count:,} {of}{'' if count == 1 else 'es' if of.endswith('ch') else 's'}"


def _when(wall_us: int, zone: tzinfo) -> str:
    try:
        return datetime.fromtimestamp(wall_us / 1e6, zone).strftime("%Y-%m-%d %H:%M %Z")
    except (ValueError, OverflowError, OSError):
        return f"{wall_us / 1e6:.0f} s"

