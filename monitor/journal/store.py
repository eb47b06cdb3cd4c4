"""The journal's file, open for writing: batches in, each one transaction.

After an error a Store is of no use any more: what it holds in memory may not be what the file holds. Open a new one.
"""

import contextlib
import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple, TypeAlias

from monitor.changes import Change, Forecast
from monitor.journal.blocks import Shape, encode, form, from_form, gather
from monitor.journal.retention import Keep, thin
from monitor.journal.rollup import EVERY_US, Rollup
from monitor.journal.rows import CHANGES, TABLES, Row, Table, microseconds
from monitor.journal.schema import LONGEST_RUN_US, Connect, connect, open_to_write, place
from monitor.journal.stored import FOREVER_US, Reader
from monitor.readings import Event, Pack, WallStep

Item: TypeAlias = Event | Change
SHAPES_KEPT = 4096


class Gap(NamedTuple):
    """Items that could not be kept: from when, up to when, how many."""

    from_us: int
    upto_us: int
    dropped: int


@dataclass
class OpenRun:
    """The run that is being written."""

    id: int
    began_us: int
    last_us: int
    shift_us: int = 0

    def takes(self, at_us: int) -> bool:
        """True where an event of that time may follow."""
        return self.last_us < at_us < self.began_us + LONGEST_RUN_US


class Store:
    """Raises sqlite3.Error, OSError or JournalFault from every method but `close`."""

    def __init__(
        self, path: Path, keep: Keep, began_by: str, wall_us: int, connect: Connect = connect
    ) -> None:
        """`began_by`: why the next run begins. `wall_us`: what the wall clock says."""
        self.db = open_to_write(path, connect)
        self._path, self._keep, self._began_by, self._wall_us = path, keep, began_by, wall_us
        self._identity = _identity(path)
        self._wal_identity: tuple[int, int] | None = None
        try:
            self._run: OpenRun | None = None
            self._upto_us: dict[int, int] = {}
            self._shapes = self._read_shapes()
            self._marks = Reader(self.db).marks()
            self._rollup = Rollup(self.db)
            self._roll_after_us = -(2**62) if self._catch_up() else 2**62
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Lets the file go. A log that has lost its file is removed: SQLite would take it for the next file's."""
        with contextlib.suppress(sqlite3.Error):
            self.db.close()
        with contextlib.suppress(OSError):
            wal = _wal(self._path)
            if self._wal_identity and _identity(wal) == self._wal_identity and _identity(self._path) != self._identity:
                wal.unlink()

    def is_there(self) -> bool:
        """False once the file, or its write-ahead log, has been removed or replaced under us."""
        wal = _identity(_wal(self._path))
        return _identity(self._path) == self._identity and self._wal_identity in (None, wal)

    def write(self, items: list[Item], gap: Gap | None) -> None:
        """All of them in one transaction; when this returns they outlast a power cut."""
        with self.db.atomic():
            self._write_items(items)
            if gap is not None and self._run is not None:
                self.db.execute(
                    "insert into gap(run, from_us, upto_us, dropped) values (?, ?, ?, ?)", (self._run.id, *gap)
                )
            self._roll_where_due()
        if self._wal_identity is None:
            self._wal_identity = _identity(_wal(self._path))

    # -- runs -------------------------------------------------------------------------------------------------

    def _write_items(self, items: list[Item]) -> None:
        """Run by run: where an event's time does not rise, a new one begins."""
        stretch: list[tuple[int, Item]] = []
        for item in items:
            at_us = microseconds(item.at)
            is_event = type(item) not in CHANGES
            if self._run is None or (is_event and not self._run.takes(at_us)):
                self._write_stretch(stretch)
                stretch = []
                self._run = self._begin(at_us)
            if is_event:
                self._run.last_us = at_us
            stretch.append((at_us, item))
        self._write_stretch(stretch)

    def _begin(self, at_us: int) -> OpenRun:
        added = self.db.execute(
            "insert into run(began_us, upto_us, wall_us, began_by) values (?, ?, ?, ?)",
            (at_us, at_us, self._wall_us, self._began_by),
        )
        self._began_by = "time fell"
        self._roll_after_us = min(self._roll_after_us, at_us + EVERY_US)
        return OpenRun(int(added.lastrowid or 0), at_us, at_us - 1)

    # -- rows -------------------------------------------------------------------------------------------------

    def _write_stretch(self, items: list[tuple[int, Item]]) -> None:
        run = self._run
        if run is None or not items:
            return
        rows: dict[Table, list[Row]] = {}
        packs: list[Pack] = []
        for at_us, item in items:
            if isinstance(item, Pack):
                packs.append(item)
                continue
            table = TABLES[type(item)]
            rows.setdefault(table, []).append((run.id, at_us, *table.pack(item)))
            self._note(run.id, at_us, item)
        self._write_packs(run, packs)
        for table, some in rows.items():
            self.db.conn.executemany(table.insert, some)
        self._upto_us[run.id] = run.last_us

    def _write_packs(self, run: OpenRun, packs: list[Pack]) -> None:
        rows = []
        for block in gather(packs):
            data = encode(block)
            at = place(run.id, run.began_us, block.at_us[0])
            rows.append((at, self._shape(block.shape), len(block.at_us), data))
            self._rollup.add_block(run.id, block, len(data), run.shift_us)
            self._marks["rolled_block"] = at
        self.db.conn.executemany("insert into readings(id, shape, packs, data) values (?, ?, ?, ?)", rows)

    def _note(self, run: int, at_us: int, item: Item) -> None:
        """What a row means beyond itself."""
        if isinstance(item, Forecast):
            self._rollup.add_forecast(run, item)
            self._marks |= {"rolled_forecast_run": run, "rolled_forecast_us": at_us}
        elif isinstance(item, WallStep) and self._run is not None:
            self._run.shift_us = microseconds(item.wall) - at_us
            self.db.execute("update run set shift_us = ? where id = ?", (self._run.shift_us, run))

    def _read_shapes(self) -> dict[Shape, int]:
        stored = self.db.execute("select id, form from shape order by id desc limit ?", (SHAPES_KEPT,))
        return {from_form(text): shape for shape, text in stored}

    def _shape(self, shape: Shape) -> int:
        known = self._shapes.get(shape)
        if known is None:
            if len(self._shapes) >= SHAPES_KEPT:  # what is forgotten is written once more when it comes again
                self._shapes.clear()
            added = self.db.execute("insert into shape(form) values (?)", (form(shape),))
            known = self._shapes[shape] = int(added.lastrowid or 0)
        return known

    # -- the roll-up ------------------------------------------------------------------------------------------

    def _roll_where_due(self) -> None:
        run = self._run
        if run is None or run.last_us < self._roll_after_us:
            return
        self._roll_after_us = run.last_us + EVERY_US
        self._rollup.write()
        self.db.conn.executemany("insert or replace into mark(name, value) values (?, ?)", self._marks.items())
        known = [(upto_us, number) for number, upto_us in self._upto_us.items()]
        self.db.conn.executemany("update run set upto_us = max(upto_us, ?) where id = ?", known)
        self._upto_us.clear()
        thin(self.db, self._keep)

    def _catch_up(self) -> bool:
        """Gathers what was stored and not rolled up before the last end; True where there was something."""
        reader = Reader(self.db)
        for at, run, block, size in reader.blocks(self._marks.get("rolled_block", 0) + 1, FOREVER_US):
            self._rollup.add_block(run, block, size, reader.runs[run].shift_us)
            self._marks["rolled_block"] = at
            self._upto_us[run] = reader.runs[run].upto_us
        run, at_us = (self._marks.get(name, 0) for name in ("rolled_forecast_run", "rolled_forecast_us"))
        for later, forecast in reader.forecasts_after(run, at_us):
            self._note(later, microseconds(forecast.at), forecast)
            self._upto_us[later] = reader.runs[later].upto_us
        return bool(self._upto_us)


def _wal(path: Path) -> Path:
    return path.with_name(path.name + "-wal")


def _identity(path: Path) -> tuple[int, int] | None:
    """Which file a name stands for; None for no file."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_dev, found.st_ino
