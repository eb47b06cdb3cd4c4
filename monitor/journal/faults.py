"""What can go wrong with the journal's file, in words for its owner."""

import sqlite3
from pathlib import Path

NAME_ANOTHER = "Name another file under [journal] in the rig file."


class JournalFault(Exception):
    """The journal can't be used. `why` says what happened, `do` what helps."""

    def __init__(self, why: str, do: str) -> None:
        super().__init__(f"{why} {do}")
        self.why = why
        self.do = do


class JournalInUse(JournalFault):
    """Another daemon writes this file."""


class JournalDamaged(JournalFault):
    """The file's content is broken."""


_FAULTS: dict[int, tuple[str, str]] = {
    sqlite3.SQLITE_FULL: (
        "The disk that holds the journal {name} is full.",
        "Free some space there; writing goes on by itself.",
    ),
    sqlite3.SQLITE_READONLY: (
        "The journal {name} can't be written: the file, its folder or the whole disk is read-only.",
        "Allow writing there, or replace the card: a worn one turns read-only.",
    ),
    sqlite3.SQLITE_CANTOPEN: (
        "The journal {name} can't be opened.",
        "See that its folder exists and that the daemon may write in it.",
    ),
    sqlite3.SQLITE_IOERR: (
        "The disk failed while the journal {name} was written.",
        "See whether it is full or read-only; if not, it may be worn out: make a back-up and replace it.",
    ),
    sqlite3.SQLITE_BUSY: (
        "Another program keeps the journal {name} locked.",
        "Close the program that has it open; writing goes on by itself.",
    ),
    sqlite3.SQLITE_CORRUPT: (
        "The journal {name} is damaged.",
        "A daemon that writes it keeps it aside and begins a new one; a back-up is whole.",
    ),
}
_ALIKE = {
    sqlite3.SQLITE_PERM: sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_LOCKED: sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_NOTADB: sqlite3.SQLITE_CORRUPT,
}


def explain(error: Exception, path: Path) -> JournalFault:
    """The fault behind an error of SQLite or of the operating system."""
    if isinstance(error, JournalFault):
        return error
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    code = _ALIKE.get(code, code)
    if code not in _FAULTS:
        return JournalFault(f"The journal {path.name} can't be used: {error}.", "See the daemon's log; restart it.")
    why, do = _FAULTS[code]
    kind = JournalDamaged if code == sqlite3.SQLITE_CORRUPT else JournalFault
    return kind(why.format(name=path.name), do)


def is_text(path: Path) -> bool:
    """True for a file of somebody's that was named by mistake."""
    with path.open("rb") as file:
        head = file.read(4096)
    try:
        return "\0" not in head.decode("utf-8")
    except UnicodeDecodeError as fault:
        return fault.start > len(head) - 4 and b"\0" not in head
