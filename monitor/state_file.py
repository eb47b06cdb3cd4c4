"""The state file beside the journal: what was learned, kept over a restart. Replaced whole, never half."""

import contextlib
import json
import logging
import os
from pathlib import Path
from typing import Any

log = logging.getLogger("holdwater")


class StateFile:
    """``holdwater.db`` has its learned state in ``holdwater.state.json``."""

    def __init__(self, journal: Path) -> None:
        self.path = journal.with_suffix(".state.json")
        self.ok = True

    def read(self) -> dict[str, Any] | None:
        """What was kept, or None: nothing yet, or nothing that can be read (then it is kept aside and said)."""
        try:
            saved = json.loads(self.path.read_text("utf-8"))
        except FileNotFoundError:
            return None
        except (OSError, ValueError) as error:
            log.warning("What was learned before can't be read (%s); starting afresh.", error)
            with contextlib.suppress(OSError):
                self.path.replace(self.path.with_suffix(".damaged"))
            return None
        return saved if isinstance(saved, dict) else None

    def write(self, saved: dict[str, Any]) -> None:
        """Write beside, flush to the disk, put in place. A failure is logged once and stops nothing."""
        beside = self.path.with_suffix(".new")
        try:
            with beside.open("w", encoding="utf-8") as file:
                json.dump(saved, file)
                file.flush()
                os.fsync(file.fileno())
            beside.replace(self.path)
            self.ok = True
        except OSError as error:
            if self.ok:
                log.error("What was learned can't be kept: %s. Free some space or mend the disk.", error)
            self.ok = False
