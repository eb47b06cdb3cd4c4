"""The state file beside the journal: what was learned, kept over a restart. Replaced whole, never half."""

import contextlib
import json
import logging
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from monitor.core.core import SAVED_AS
from monitor.worker import Hire, Steps, Thread

log = logging.getLogger("holdwater")

EVERY_S = 10.0
IDLE_S = 60.0
CLOSING_S = 20.0
FORWARD: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""From a version to the next. None has been needed yet."""


class NewerState(Exception):
    """The file is a newer program's; the message says so and what to do. Nothing was changed."""


class StateFile:
    """``holdwater.db`` has its learned state in ``holdwater.state.json``."""

    def __init__(self, journal: Path, sync: Callable[[int], None] = os.fsync) -> None:
        self.path = journal.with_suffix(".state.json")
        self._sync = sync
        self.ok = True

    def read(self) -> dict[str, Any] | None:
        """What was kept, or None: nothing yet, or nothing that can be read (then it is kept aside and said).

        Raises NewerState.
        """
        try:
            return self._forward(dict(json.loads(self.path.read_text("utf-8"))))
        except FileNotFoundError:
            return None
        except (LookupError, OSError, TypeError, ValueError) as error:
            self.put_aside(error)
            return None

    def _forward(self, saved: dict[str, Any]) -> dict[str, Any]:
        """As this version writes it; what an older one wrote is first kept as it was. Raises LookupError."""
        version = int(saved.get("version", SAVED_AS))
        if version > SAVED_AS:
            raise NewerState(
                f"{self.path} was written by a newer version of this program. Install that one again; or put what it"
                f" kept of before, {self._before(version).name}, in its place; or move it away: what was learned and"
                " calibrated is then lost."
            )
        if version < SAVED_AS:
            shutil.copyfile(self.path, self._before(SAVED_AS))
        for step in range(version, SAVED_AS):
            saved = FORWARD[step](saved)
        return saved

    def _before(self, version: int) -> Path:
        return self.path.with_suffix(f".before-{version}.json")

    def put_aside(self, error: Exception) -> None:
        """What stands in it is of no use: say so, and keep it for whoever wants to know why."""
        log.warning("What was learned before can't be used (%r); starting afresh.", error)
        with contextlib.suppress(OSError):
            self.path.replace(self.path.with_suffix(".damaged"))

    def write(self, saved: dict[str, Any]) -> None:
        """Write beside, flush to the disk, put in place. A failure is logged once and stops nothing."""
        beside = self.path.with_suffix(".new")
        try:
            with beside.open("w", encoding="utf-8") as file:
                file.write(json.dumps(saved))  # json.dump would write it in a thousand pieces
                file.flush()
                self._sync(file.fileno())
            beside.replace(self.path)
            self.ok = True
        except OSError as error:
            if self.ok:
                log.error("What was learned can't be kept: %s. Free some space or mend the disk.", error)
            self.ok = False


class Saver:
    """Writes the state file off the deciding path: one write at a time, so that on a slow disk nothing piles up.

    What becomes due while one is under way is written after it: the change of an alarm is never left out.
    """

    def __init__(self, file: StateFile, now_s: float, hire: Hire = Thread) -> None:
        self.file = file
        self._saved_s = now_s
        self._due = False
        self._next: dict[str, Any] | None = None
        self._worker = hire("state file", self._writes)
        self._worker.start()

    def tick(self, now_s: float, changed: bool, snapshot: Callable[[], dict[str, Any]]) -> None:
        """Called every round; `changed` makes a write due at once, time alone every ten seconds."""
        self._due = self._due or changed or now_s - self._saved_s > EVERY_S
        if self._due and self.is_idle():
            self._due, self._saved_s = False, now_s
            self._next = snapshot()
            self._worker.wake()

    def is_idle(self) -> bool:
        return self._next is None

    def close(self, snapshot: dict[str, Any]) -> None:
        """The last snapshot; a disk that does not answer keeps nobody waiting for ever."""
        self._due = False
        self._worker.close(CLOSING_S)
        self.file.write(snapshot)

    def _writes(self) -> Steps:
        while True:
            yield IDLE_S
            if self._next is not None:
                self.file.write(self._next)
                self._next = None
