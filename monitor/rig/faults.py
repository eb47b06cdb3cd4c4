"""What is wrong with a rig file, told all at once and so that its owner can mend it."""

from collections.abc import Sequence
from typing import NamedTuple

from pydantic_core import PydanticCustomError

LONGEST_SHOWN = 80


class Fault(NamedTuple):
    """One thing to mend."""

    table: str
    """As it stands in the file: ``[tank]``, ``[[pump]] 2``; empty for the file as a whole."""
    key: str
    """The key in that table; empty where the table itself is at fault."""
    found: str
    expected: str

    def __str__(self) -> str:
        place = " ".join(part for part in (self.table, self.key) if part)
        return f"{place or 'file'}: found {self.found}; expected {self.expected}"


class RigFaults(Exception):
    """A rig file that cannot be used, with all its faults."""

    def __init__(self, file: str, faults: Sequence[Fault]) -> None:
        self.file = file
        self.faults = list(faults)
        count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        lines = [f"{file} cannot be used, it has {count}:", *(f"  {fault}" for fault in self.faults)]
        super().__init__("\n".join(lines))


def fault(found: str, expected: str, key: str = "") -> PydanticCustomError:
    """The error a validator raises: it becomes a Fault at the place where pydantic was, or at `key` below it."""
    return PydanticCustomError("fault", "{found}, {expected}", {"found": found, "expected": expected, "key": key})


def shown(value: object) -> str:
    """A value as its owner wrote it, near enough to find it, and never longer than a line."""
    match value:
        case bool():
            text = "true" if value else "false"
        case str():
            text = '"' + "".join(c if c.isprintable() else "�" for c in value[: LONGEST_SHOWN + 1]) + '"'
        case list():
            text = "[" + ", ".join(shown(item) for item in value[:4]) + (", …]" if len(value) > 4 else "]")
        case dict():
            text = "{ " + ", ".join(f"{key} = {shown(item)}" for key, item in list(value.items())[:4]) + " }"
        case _:
            text = str(value)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…"
