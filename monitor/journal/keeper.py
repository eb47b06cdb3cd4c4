"""Keeps a journal file to write in, whatever happens to it: removed, damaged, full, read-only."""

import sqlite3
import time
from collections.abc import Callable
from pathlib import Path

from monitor.journal.faults import NAME_ANOTHER, JournalDamaged, JournalFault, explain, is_text
from monitor.journal.lock import Lock
from monitor.journal.retention import Keep
from monitor.journal.schema import Connect, connect
from monitor.journal.store import Gap, Item, Store

MOST_ASIDE = 3
OF_A_ROW = (sqlite3.IntegrityError, sqlite3.InterfaceError, sqlite3.ProgrammingError, sqlite3.DataError)


class Keeper:
    """One thread at a time may use it. `note` tells of the last thing that happened to the file and is over."""

    def __init__(
        self, path: Path, keep: Keep, wall: Callable[[], float], connect: Connect = connect
    ) -> None:
        self.note: JournalFault | None = None
        self._path, self._keep, self._wall, self._connect = path, keep, wall, connect
        self._lock: Lock | None = None
        self._store: Store | None = None
        self._began_by = "start"
        self._asides = 0

    def claim(self) -> None:
        """Makes this process the file's only writer. Raises JournalFault, JournalInUse among them."""
        if self._lock is None:
            try:
                self._lock = Lock(self._path)
            except OSError as error:
                raise self._of_the_system(error) from error

    def write(self, items: list[Item], gap: Gap | None) -> None:
        """Raises JournalFault where the file does not take it, any other error where an item is at fault."""
        try:
            self._attempt(items, gap)
        except JournalDamaged as fault:
            self._set_aside(fault)
            self._attempt(items, gap)

    def let_go(self) -> None:
        """Closes the file."""
        if self._store is not None:
            self._store.close()
            self._store = None

    def release(self) -> None:
        """Closes the file and leaves it to others."""
        self.let_go()
        if self._lock is not None:
            self._lock.release()
            self._lock = None

    def _attempt(self, items: list[Item], gap: Gap | None) -> None:
        try:
            self.claim()
            self._ready().write(items, gap)
        except BaseException as error:
            self.let_go()
            if isinstance(error, OSError):
                raise self._of_the_system(error) from error
            if isinstance(error, sqlite3.Error | MemoryError) and not isinstance(error, OF_A_ROW):
                raise explain(error, self._path) from error
            raise

    def _ready(self) -> Store:
        if self._store is not None and not self._store.is_there():
            self.let_go()
            self.note = JournalFault(
                f"The journal {self._path.name} was removed or replaced while it was in use; writing went on in "
                f"what is there now, at {_utc(self._wall(), '%Y-%m-%d %H:%M')} UTC.",
                "What was in it before is only in a back-up.",
            )
        if self._store is None:
            self._store = Store(self._path, self._keep, self._began_by, round(self._wall() * 1e6), self._connect)
            self._began_by = "went on"
        return self._store

    def _set_aside(self, fault: JournalDamaged) -> None:
        """The damaged file and what belongs to it, under a name with the time. Raises JournalFault."""
        if self._asides >= MOST_ASIDE:
            raise JournalFault(f"{fault.why} It is the {MOST_ASIDE + 1}th time.", "The disk is failing: replace it.")
        try:
            if is_text(self._path):
                raise JournalFault(f"{self._path} is no journal.", NAME_ANOTHER)
            aside = self._free_name()
            for end in ("", "-wal", "-shm"):
                part = self._path.with_name(self._path.name + end)
                if part.exists():
                    part.rename(aside.with_name(aside.name + end))
        except OSError as error:
            raise self._of_the_system(error) from error
        self._asides += 1
        self.note = JournalFault(
            f"The journal {self._path.name} was damaged; it is kept aside as {aside.name} and a new one was begun.",
            "Much of it may still be read: run holdwater journal on it. A worn-out card is the usual cause.",
        )

    def _free_name(self) -> Path:
        stem = f"{self._path.name}.damaged-{_utc(self._wall(), '%Y%m%d-%H%M%S')}"
        names = (self._path.with_name(stem + (f"-{i}" if i else "")) for i in range(1000))
        return next(name for name in names if not name.exists())

    def _of_the_system(self, error: OSError) -> JournalFault:
        return JournalFault(
            f"The journal {self._path.name} can't be written: {error.strerror or error}.",
            f"See that {self._path.parent} exists, has space, and may be written by the daemon.",
        )


def _utc(wall_s: float, form: str) -> str:
    return time.strftime(form, time.gmtime(wall_s))
