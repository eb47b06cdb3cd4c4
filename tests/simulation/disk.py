"""The journal's and the state file's disk: real files, that refuse when told, or stay as a kill leaves them."""

import errno
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.simulation.loop import Killed

LEFT = (".db", ".db-wal", ".state.json", ".state.new")
FULL = "database or disk is full"
IO_ERROR = "disk I/O error"
AGAIN_S = 10.0
"""After so long a disk that has refused was asked again."""


class Disk:
    """`full`, or a count of writes after which one fails, or after which the process is killed."""

    def __init__(self, folder: Path, now_s: Callable[[], float]) -> None:
        self.folder, self._now_s = folder, now_s
        self.full = False
        self.fails_in: int | None = None
        self.kills_in: int | None = None
        self.ill_until_s = float("-inf")
        """Up to then what it refused may still be waiting."""

    def connect(self, path: Path) -> sqlite3.Connection:
        connection = sqlite3.connect(path, factory=_Connection)
        connection.disk = self
        return connection

    def sync(self, file: int) -> None:
        """In place of fsync: no power is cut here, and each seed would wait for the real disk a thousand times.

        Of a file that the disk refuses, or that was being written when the process was killed, half is there.
        """
        if self._writes(lambda: _tear(file)):
            _tear(file)
            raise OSError(errno.ENOSPC, "No space left on device")

    def before(self, statement: str) -> None:
        """Raises what SQLite would."""
        if statement.lstrip().lower().startswith(("select", "pragma", "rollback")):
            return
        if said := self._writes():
            raise sqlite3.OperationalError(said)

    def _writes(self, tear: Callable[[], None] = lambda: None) -> str | None:
        """A write is tried: what is wrong with it. Raises Killed."""
        if self.kills_in is not None:
            self.kills_in -= 1
            if self.kills_in < 0:
                self.kills_in = None
                tear()
                self.keep()
                raise Killed
        if self.fails_in is not None:
            self.fails_in -= 1
            if self.fails_in < 0:
                self.fails_in, self.ill_until_s = None, self._now_s() + AGAIN_S
                return IO_ERROR
        return FULL if self.full else None

    def keep(self) -> None:
        """What stands in the files now is what a kill leaves behind, whatever the dying process still does."""
        kept = self.folder / "kept"
        shutil.rmtree(kept, ignore_errors=True)
        kept.mkdir()
        for path in self._files(self.folder):
            shutil.copyfile(path, kept / path.name)

    def put_back(self) -> None:
        for path in [*self._files(self.folder), *self.folder.glob("*.db-shm")]:
            path.unlink()
        for path in self._files(self.folder / "kept"):
            shutil.copyfile(path, self.folder / path.name)

    def _files(self, folder: Path) -> list[Path]:
        return [path for path in folder.iterdir() if path.name.endswith(LEFT)]


def _tear(file: int) -> None:
    os.ftruncate(file, os.fstat(file).st_size // 2)


class _Connection(sqlite3.Connection):
    disk: Disk

    def execute(self, statement: str, *values: Any) -> sqlite3.Cursor:  # type: ignore[override]
        self.disk.before(statement)
        return super().execute("pragma synchronous = off" if "synchronous" in statement else statement, *values)

    def executemany(self, statement: str, *values: Any) -> sqlite3.Cursor:  # type: ignore[override]
        self.disk.before(statement)
        return super().executemany(statement, *values)
