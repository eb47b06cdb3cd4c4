"""What goes when the journal grows old or big: raw readings first, roll-ups after years, alarms and acts never.

Thinning takes a bite at a time, so that it never holds up the writer: an hour of readings every five minutes. The pages
it frees are written again; the file doesn't shrink.
"""

from itertools import accumulate
from typing import NamedTuple

from monitor.journal.rollup import DAY_US, GRAINS
from monitor.journal.schema import place, run_of, since_began_us, used_bytes
from monitor.journal.stored import FOREVER_US, Reader, Run
from monitor.journal.tables import Database

HOUR_US = 3_600_000_000
YEAR_US = 8766 * HOUR_US
ALWAYS_US = 2 * HOUR_US
"""So much of what is newest is kept, however small the file is meant to be."""
RAW_TABLES = ("alive", "reject", "passing", "forecast")


class Keep(NamedTuple):
    """How much is kept."""

    raw_days: float = 120.0
    size_mb: float = 2000.0
    minute_years: float = 10.0


def thin(db: Database, keep: Keep) -> bool:
    """Takes one bite where there is too much, within the caller's transaction. True where it took something.

    Everything must be rolled up before.
    """
    runs = Reader(db).runs
    return bool(runs) and (_thin_raw(db, keep, runs) or _thin_minutes(db, keep, runs))


def dates(runs: dict[int, Run]) -> dict[int, int]:
    """When each run began, in wall time as far as it is known: no run is older than the one before it."""
    claims = [run.began_us + run.shift_us for run in runs.values()]
    return dict(zip(runs, accumulate(claims, max), strict=True))


def now_us(db: Database) -> int:
    """Two days before the newest recorded: a clock that is wrong for a day and its midnight makes nothing old."""
    row = db.execute("select day from day order by day desc limit 1 offset 2").fetchone()
    return -FOREVER_US if row is None else int(row[0]) * DAY_US


def _thin_raw(db: Database, keep: Keep, runs: dict[int, Run]) -> bool:
    oldest = _oldest(db, runs)
    if oldest is None:
        return False
    run, at_us = runs[oldest[0]], oldest[1]
    cut_us = min(at_us + HOUR_US, run.upto_us + 1)
    if run.id == max(runs) and cut_us > run.upto_us - ALWAYS_US:
        return False
    age_us = now_us(db) - (dates(runs)[run.id] + at_us - run.began_us)
    if age_us <= keep.raw_days * DAY_US and used_bytes(db) <= keep.size_mb * 1e6:
        return False
    _delete(db, run, cut_us)
    return True


def _oldest(db: Database, runs: dict[int, Run]) -> tuple[int, int] | None:
    """Run and time of the oldest raw thing."""
    first = "select run, at_us from {} order by run, at_us limit 1"
    firsts = [db.execute(first.format(table)).fetchone() for table in RAW_TABLES]
    found = [row for row in firsts if row is not None]
    (block,) = db.execute("select min(id) from readings").fetchone()
    if block is not None:
        found.append((run_of(block), runs[run_of(block)].began_us + since_began_us(block)))
    return min(found, default=None)


def _delete(db: Database, run: Run, cut_us: int) -> None:
    first = place(run.id, run.began_us, run.began_us)
    end = place(run.id, run.began_us, max(cut_us, run.began_us))
    db.execute("delete from readings where id >= ? and id < ?", (first, end))
    _mark(db, "thinned", end)
    for table in RAW_TABLES:
        db.execute(f"delete from {table} where run = ? and at_us < ?", (run.id, cut_us))


def _thin_minutes(db: Database, keep: Keep, runs: dict[int, Run]) -> bool:
    """The roll-ups of the oldest run, once all of it is too old."""
    (gone,) = db.execute("select coalesce(max(value), 0) from mark where name = 'minutes_gone_run'").fetchone()
    before_us = now_us(db) - keep.minute_years * YEAR_US
    for run in runs.values():
        if run.id > gone and dates(runs)[run.id] + run.upto_us - run.began_us < before_us:
            for grain in GRAINS:
                db.execute(f"delete from {grain.table} where run = ? and signal in (select id from signal)", (run.id,))
            _mark(db, "minutes_gone_run", run.id)
            return True
    return False


def _mark(db: Database, name: str, value: int) -> None:
    db.execute("insert or replace into mark(name, value) values (?, ?)", (name, value))
