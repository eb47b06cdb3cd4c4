"""One daemon, one journal: a lock file beside it, held as long as the daemon lives and let go by the kernel after."""

import fcntl
import os
from pathlib import Path

from monitor.journal.faults import NAME_ANOTHER, JournalInUse


class Lock:
    """Held until `release`, or until the process ends however it ends."""

    def __init__(self, journal: Path) -> None:
        """Raises JournalInUse where another process holds it, OSError where the lock file can't be made."""
        path = journal.with_name(journal.name + ".lock")
        self._file = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            holder = os.read(self._file, 20).decode("ascii", "replace").strip()
            os.close(self._file)
            raise JournalInUse(
                f"The journal {journal} is being written by another daemon{f' (process {holder})' if holder else ''}.",
                f"Stop that one first. Or: {NAME_ANOTHER}",
            ) from None
        except BaseException:
            os.close(self._file)
            raise
        self._sign()

    def release(self) -> None:
        os.close(self._file)

    def _sign(self) -> None:
        """Who holds it, for the message to the next; a full disk is no reason not to hold it."""
        try:
            os.ftruncate(self._file, 0)
            os.pwrite(self._file, f"{os.getpid()}\n".encode(), 0)
        except OSError:
            return
