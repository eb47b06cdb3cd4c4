"""Reading what the file holds: runs, blocks and rows, through a connection that can't write."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote

from monitor.changes import Forecast
from monitor.journal.blocks import LONGEST_US, Block, Shape, decode, from_form
from monitor.journal.faults import JournalFault, explain, is_text
from monitor.journal.rows import CHANGES, TABLES, Table
from monitor.journal.schema import APPLICATION_ID, place, run_of, since_began_us
from monitor.journal.tables import Database

FOREVER_US = 2**62
READ_BUSY_S = 5.0
NAME_THE_JOURNAL = "Name the journal's own file; the rig file says which."


class Run(NamedTuple):
    """What was written without a break."""

    id: int
    began_us: int
    upto_us: int
    """The last thing known of it."""
    shift_us: int
    """What to add to its times to get wall time."""
    wall_us: int
    """What the wall clock said when it began."""
    began_by: str


class Stored(NamedTuple):
    """One block with its place in the file, its run, and the bytes it takes."""

    place: int
    run: int
    block: Block
    size: int


class Reader:
    """What can be asked of an open journal. Raises sqlite3.Error.

    A block or row that can't be read is passed over and counted in `damaged`: it takes nothing else with it.
    """

    def __init__(self, db: Database) -> None:
        self.db = db
        self.damaged = 0
        self._tables = {name for (name,) in self._rows("select name from sqlite_master")}
        self.runs = {row[0]: Run(*row) for row in self._rows(_RUNS)}
        self._shapes: dict[int, Shape] = {}
        if self.runs:
            newest = self.runs[max(self.runs)]
            self.runs[newest.id] = newest._replace(upto_us=max(newest.upto_us, self._latest_us(newest)))

    def blocks(self, first: int, end: int, names: frozenset[str] | None = None) -> Iterator[Stored]:
        """Blocks by place, from `first` up to before `end`; with `names`, those that may speak of one of them."""
        chosen = "" if names is None else f" and shape in ({', '.join(map(str, self._shapes_with(names)))})"
        query = f"select id, shape, packs, data from readings where id >= ? and id < ?{chosen} order by id"
        for at, shape, packs, data in self._rows(query, first, end):
            try:
                run = self._run(run_of(at))
                block = decode(self._shape(shape), run.began_us + since_began_us(at), packs, data)
            except ValueError:
                self.damaged += 1
            else:
                yield Stored(at, run.id, block, len(data))

    def blocks_of(
        self, run: Run, from_us: int, upto_us: int, names: frozenset[str] | None = None, after: int = 0
    ) -> Iterator[Stored]:
        """Blocks that begin in a stretch of a run's time, and come after a place."""
        first = place(run.id, run.began_us, max(from_us, run.began_us))
        end = place(run.id, run.began_us, min(upto_us, run.upto_us + 1))
        return self.blocks(max(first, after + 1), end, names)

    def has(self, table: str) -> bool:
        """An older version's journal may lack one."""
        return table in self._tables

    def rows(self, table: Table, run: int, from_us: int, upto_us: int) -> Iterator[Any]:
        """A table's events or changes of one run, in order; none where there is no such table."""
        if not self.has(table.name):
            return
        for at_us, *row in self._rows(table.select, run, from_us, upto_us):
            try:
                item = table.unpack(at_us / 1e6, *row)
            except (ValueError, TypeError):
                self.damaged += 1
            else:
                yield item

    def forecasts_after(self, run: int, at_us: int) -> Iterator[tuple[int, Forecast]]:
        """Forecasts later than that one, each with its run."""
        for later in [each for each in self.runs if each >= run]:
            start_us = at_us + 1 if later == run else -FOREVER_US
            for forecast in self.rows(CHANGES[Forecast], later, start_us, FOREVER_US):
                yield later, forecast

    def shapes(self) -> list[Shape]:
        """Every shape a pack ever had, the oldest first."""
        return [self._shape(number) for (number,) in self._rows("select id from shape order by id")]

    def marks(self) -> dict[str, int]:
        return dict(self._rows("select name, value from mark"))

    def _rows(self, query: str, *values: int) -> Iterator[Any]:
        return iter(self.db.execute(query, values))

    def _run(self, number: int) -> Run:
        if number not in self.runs:
            raise ValueError(f"run {number} is missing")
        return self.runs[number]

    def _shape(self, number: int) -> Shape:
        if number not in self._shapes:
            row = self.db.execute("select form from shape where id = ?", (number,)).fetchone()
            if row is None:
                raise ValueError(f"shape {number} is missing")
            self._shapes[number] = from_form(row[0])
        return self._shapes[number]

    def _shapes_with(self, names: frozenset[str]) -> list[int]:
        found = []
        for number, form in self._rows("select id, form from shape"):
            shape = self._shapes.setdefault(number, from_form(form))
            if not names.isdisjoint([field.name for field in shape.fields]):
                found.append(number)
        return found

    def _latest_us(self, run: Run) -> int:
        """The last thing stored of a run. The block that began last need not be the one that reaches farthest."""
        first, end = place(run.id, 0, 0), place(run.id + 1, 0, 0)
        (last,) = self.db.execute("select max(id) from readings where id >= ? and id < ?", (first, end)).fetchone()
        overlapping = [] if last is None else self.blocks(max(first, last - LONGEST_US), last + 1)
        found = [stored.block.at_us[-1] for stored in overlapping]
        for table in [each for each in TABLES.values() if self.has(each.name)]:
            order = "id" if table.name == "alarm_change" else "at_us"
            query = f"select at_us from {table.name} where run = ? order by {order} desc limit 1"
            found += [at_us for (at_us,) in self._rows(query, run.id)]
        return max(found, default=run.began_us)


_RUNS = "select id, began_us, upto_us, shift_us, wall_us, began_by from run order by id"


@contextlib.contextmanager
def opened(path: Path) -> Iterator[Reader]:
    """The journal at `path` to read from, also while a daemon writes it. Raises JournalFault."""
    if not path.exists():
        raise JournalFault(f"There is no journal at {path}.", "A daemon makes one; the rig file says where.")
    try:
        db = _connect(path)
    except sqlite3.Error as error:
        if getattr(error, "sqlite_errorcode", 0) == sqlite3.SQLITE_NOTADB and is_text(path):
            raise JournalFault(f"{path} is no journal.", NAME_THE_JOURNAL) from error
        raise explain(error, path) from error
    try:
        if db.execute("pragma application_id").fetchone()[0] != APPLICATION_ID:
            raise JournalFault(f"{path} is no journal.", NAME_THE_JOURNAL)
        yield Reader(db)
    except sqlite3.Error as error:
        raise explain(error, path) from error
    finally:
        db.close()


def _connect(path: Path) -> Database:
    """One thread at a time may use it, but not always the same one: exports are streamed.

    A reader wants its lock files beside the journal; where it can't make them, nobody writes the journal either.
    """
    db = _database(path, "mode=ro")
    try:
        db.execute("select 1 from sqlite_master").fetchone()
    except sqlite3.OperationalError:
        db.close()
        if path.with_name(path.name + "-wal").exists():
            raise
        db = _database(path, "immutable=1")
    return db


def _database(path: Path, how: str) -> Database:
    address = f"file:{quote(str(path.absolute()))}?{how}"
    return Database(sqlite3.connect(address, uri=True, timeout=READ_BUSY_S, check_same_thread=False))
