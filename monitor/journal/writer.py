"""The journal's one writer: a bounded queue in front, a thread behind, a commit every few seconds.

Whoever puts something in never waits and never fails. What goes wrong with the disk stays here, is said in `status`,
and is tried again.
"""

import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from monitor.journal.faults import JournalFault, JournalInUse
from monitor.journal.keeper import Keeper
from monitor.journal.retention import Keep
from monitor.journal.schema import Connect, connect
from monitor.journal.store import Item
from monitor.journal.waiting import Waiting
from monitor.worker import Hire, Steps, Thread, Worker

EVERY_S = 5.0
LONGEST = 20_000
MANY = 4096
"""So many waiting are written without waiting for more, and so many in one transaction."""
STUCK_S = 20.0
CLOSING_S = 20.0


class Status(NamedTuple):
    """How the journal does. `why` and `do` are sentences for people; with ok they tell of something that is over."""

    ok: bool
    why: str
    do: str
    waiting: int
    dropped: int


class Journal:
    """Any thread puts, one worker writes.

    `clock` counts seconds for pacing and never falls; `wall` is the wall clock in Unix seconds, used to name things.
    """

    def __init__(
        self,
        path: Path,
        clock: Callable[[], float] = time.monotonic,
        *,
        wall: Callable[[], float] = time.time,
        keep: Keep | None = None,
        longest: int = LONGEST,
        hire: Hire = Thread,
        connect: Connect = connect,
    ) -> None:
        self.path = path
        self._clock = clock
        self._keeper = Keeper(path, keep or Keep(), wall, connect)
        self._waiting = Waiting(longest)
        self._hire = hire
        self._worker: Worker | None = None
        self._fault: JournalFault | None = None
        self._note: JournalFault | None = None
        self._most = MANY
        self._due_s = clock()
        self._busy_since: float | None = None

    def start(self) -> None:
        """Raises JournalInUse where another daemon writes this file; any other trouble shows in `status`."""
        try:
            self._keeper.claim()
        except JournalInUse:
            raise
        except JournalFault as fault:
            self._fault = fault
        self._worker = self._hire("journal", self._work)
        self._worker.start()

    def put(self, *items: Item) -> None:
        """Events and changes, to be kept. Takes a microsecond for each, whatever the disk does."""
        before = len(self._waiting)
        pressing = self._waiting.put(items) or before < MANY <= len(self._waiting)
        if pressing and self._worker is not None:
            self._worker.wake()

    def status(self) -> Status:
        counts = len(self._waiting), self._waiting.dropped
        fault = self._fault or self._stuck()
        if fault is not None:
            return Status(False, fault.why, fault.do, *counts)
        note = self._note or self._keeper.note
        return Status(True, note.why if note else "", note.do if note else "", *counts)

    def close(self) -> None:
        """Writes what is waiting, as far as the disk takes it, and lets the file go."""
        if self._waiting.closed:
            return
        self._waiting.closed = True
        if self._worker is None:
            self._finish()
        else:
            self._worker.close(CLOSING_S)

    def step(self) -> None:
        """One round of work, where any is due. Never raises."""
        now_s = self._clock()
        if now_s >= self._due_s or self._is_pressing():
            self._due_s = now_s + EVERY_S
            self._write()

    def _work(self) -> Steps:
        try:
            while True:
                yield 0.0 if self._is_pressing() else max(0.0, self._due_s - self._clock())
                self.step()
        except GeneratorExit:
            self._finish()
            raise

    def _is_pressing(self) -> bool:
        """A disk that refuses is asked again only after a while."""
        return self._fault is None and (self._waiting.urgent or len(self._waiting) >= self._most)

    def _finish(self) -> None:
        self._write()
        while len(self._waiting) and self._fault is None:
            self._write()
        self._keeper.release()

    def _write(self) -> None:
        self._busy_since = self._clock()
        items, gap = self._waiting.first(self._most)
        try:
            self._keeper.write(items, gap)
            self._waiting.take(len(items), gap)
            self._fault = None
        except JournalFault as fault:
            self._fault = fault
        except Exception as error:
            self._isolate(len(items), error)
        self._busy_since = None

    def _isolate(self, count: int, error: Exception) -> None:
        """One of so many items can't be stored: fewer at a time, until it alone is given up."""
        if count > 1:
            self._most = count // 2
            return
        self._most = MANY
        if count:
            self._waiting.give_up_first()
        self._note = JournalFault(
            f"Something could not be kept in the journal: {error}.", "Please report this to the project."
        )

    def _stuck(self) -> JournalFault | None:
        since = self._busy_since
        for_s = 0.0 if since is None else self._clock() - since
        if for_s <= STUCK_S:
            return None
        return JournalFault(
            f"The disk has not answered for {for_s:.0f} s.", "It may be failing: make a back-up and replace it."
        )
