"""The journal's tables, and opening the file for its one writer.

Times ending in ``_us`` are whole microseconds on the daemon's own time line. A *run* is what was written without a
break; only within a run does time surely rise. Readings lie packed in blocks, in the order they came: a block's id is
its *place*, the run in the high bits and the microseconds since the run began in the low ones, so that a window of
time is a range of ids and no index has to be written. A reading costs a few bytes that way (see `blocks`).
"""

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

from monitor.journal.faults import NAME_ANOTHER, JournalFault
from monitor.journal.tables import Database, Migrations

APPLICATION_ID = 0x486F6C64
PLACE_BITS = 46
LONGEST_RUN_US = 1 << PLACE_BITS  # 2.2 years
PAGE_BYTES = 1024
BUSY_S = 2.0
PRAGMAS = (
    "journal_mode = wal",
    "synchronous = full",
    "secure_delete = off",  # Debian's SQLite overwrites what is deleted: it would wear the card twice
    f"journal_size_limit = {8 << 20}",
)

Connect: TypeAlias = Callable[[Path], sqlite3.Connection]

migrations = Migrations("journal")


@migrations()
def first_tables(db: Database) -> None:
    """Everything that is kept, each table in the order of time."""
    for table in _FIRST_TABLES:
        db.execute(table)


@migrations()
def jobs(db: Database) -> None:
    """A row for each finished job: no retention takes it."""
    db.execute("""create table job(run integer, at_us integer, site text, began real, figures text,
       primary key(run, at_us)) strict, without rowid""")


@migrations()
def tallies(db: Database) -> None:
    """The water counted, a row each quarter of an hour: no retention takes it."""
    db.execute("""create table tally(run integer, at_us integer, began real, figures text,
       primary key(run, at_us)) strict, without rowid""")


@migrations()
def half_hours(db: Database) -> None:
    """The roll-up for seasons and years, filled from the minutes there are."""
    db.execute("""create table half_hour(signal integer, run integer, half_hour integer, n integer, lo real, mean real,
       hi real, primary key(signal, run, half_hour)) strict, without rowid""")
    db.execute("""insert into half_hour select signal, run, minute / 30, sum(n), min(lo), sum(mean * n) / sum(n),
       max(hi) from minute group by 1, 2, 3""")


_FIRST_TABLES = (
    # began_by: start | resumed | time fell. shift_us: what to add to get wall time, known once the clock was set
    """create table run(id integer primary key, began_us integer not null, upto_us integer not null,
       shift_us integer not null default 0, wall_us integer not null, began_by text not null) strict""",
    "create table signal(id integer primary key, name text not null, unit text not null, unique(name, unit)) strict",
    # form: JSON [feed, node, retained, [[name, unit, kind, has total, has stamp, every], …]]
    "create table shape(id integer primary key, form text not null) strict",
    """create table readings(id integer primary key, shape integer not null, packs integer not null,
       data blob not null) strict""",
    """create table alive(run integer, at_us integer, feed text, node text, up integer, retained integer,
       primary key(run, at_us)) strict, without rowid""",
    """create table reject(run integer, at_us integer, feed text, kind text, why text, raw text,
       primary key(run, at_us)) strict, without rowid""",
    """create table act(run integer, at_us integer, act text, person text, alarm text, detail text,
       primary key(run, at_us)) strict, without rowid""",
    "create table wall_step(run integer, at_us integer, wall real, primary key(run, at_us)) strict, without rowid",
    "create table passing(run integer, at_us integer, primary key(run, at_us)) strict, without rowid",
    """create table alarm_change(id integer primary key, run integer, at_us integer, alarm text, priority text,
       state text, subject text, person text, told text, figures text) strict""",
    """create table forecast(run integer, at_us integer, volume_l real, volume_sd_l real, inflow_l_min real,
       net_l_min real, draw_sum_l_min real, draws text, dry_s text, dry_if_kept_s real, dry_flat_out_s real,
       level_quality text, supply_quality text, primary key(run, at_us)) strict, without rowid""",
    """create table minute(signal integer, run integer, minute integer, n integer, lo real, mean real, hi real,
       primary key(signal, run, minute)) strict, without rowid""",
    # what could not be kept, because the disk took nothing for too long
    """create table gap(id integer primary key, run integer, from_us integer, upto_us integer,
       dropped integer) strict""",
    "create table day(day integer primary key, packs integer, readings integer, bytes integer) strict",
    "create table mark(name text primary key, value integer not null) strict, without rowid",
)


def place(run: int, began_us: int, at_us: int) -> int:
    """Where a moment of a run lies among the blocks."""
    return (run << PLACE_BITS) + at_us - began_us


def run_of(at_place: int) -> int:
    return at_place >> PLACE_BITS


def since_began_us(at_place: int) -> int:
    return at_place & (LONGEST_RUN_US - 1)


def connect(path: Path) -> sqlite3.Connection:
    """A connection to write with. Raises sqlite3.Error."""
    return sqlite3.connect(path, timeout=BUSY_S)


def open_to_write(path: Path, connect: Connect = connect) -> Database:
    """The journal at `path`, made or brought up to date where needed.

    Raises sqlite3.Error, OSError where the file may not be written, or JournalFault for a file that is no journal or
    a newer program's.
    """
    os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644))  # SQLite would open it to read, and half-way
    db = Database(connect(path))
    try:
        _claim(db, path)
        for pragma in PRAGMAS:
            db.execute(f"pragma {pragma}").fetchall()
        _flush_folder(path)  # before anything moves from the log into the file
        _back_up_before_change(db, path)
        migrations.apply(db)
        _flush_folder(path)
    except BaseException:
        db.close()
        raise
    return db


def _back_up_before_change(db: Database, path: Path) -> None:
    """A journal that is about to be brought up to date is kept as it was, for the version that wrote it."""
    written = {step.name for step in migrations.applied(db)}
    if not written or not migrations.pending(db):
        return
    kept = path.with_suffix(f".before-{len(written) + 1}.db")
    if not kept.exists():
        half = kept.with_suffix(".new")
        half.unlink(missing_ok=True)
        db.execute("vacuum into ?", [str(half)])
        half.replace(kept)


def _flush_folder(path: Path) -> None:
    """SQLite leaves it to the system when a new file's name, and the end of an old roll-back journal, reach the disk.

    Until they have, a power cut may undo the file's beginning, and all that was stored in it since.
    """
    folder = os.open(path.absolute().parent, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def _claim(db: Database, path: Path) -> None:
    """A new file is marked as ours before anything else, so that one cut short in its making is known again.

    Pages are small, since every commit writes the last of each table anew.
    """
    if _pragma(db, "application_id") != APPLICATION_ID:
        if db.execute("select 1 from sqlite_master").fetchone():
            raise JournalFault(f"{path} is a database, but no journal.", NAME_ANOTHER)
        db.execute(f"pragma page_size = {PAGE_BYTES}")
        db.execute(f"pragma application_id = {APPLICATION_ID}")
    newer = {step.name for step in migrations.applied(db)} - {step.name for step in migrations._migrations}
    if newer:
        raise JournalFault(
            f"{path} was written by a newer version of this program.",
            f"Install that version again. Or: {NAME_ANOTHER}",
        )


def _pragma(db: Database, name: str) -> int:
    return int(db.execute(f"pragma {name}").fetchone()[0])


def used_bytes(db: Database) -> int:
    """What the file holds, without the pages that are free to be written again."""
    return (_pragma(db, "page_count") - _pragma(db, "freelist_count")) * _pragma(db, "page_size")
