"""What is wrong with a rig file, told all at once and so that its owner can mend it."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any, NamedTuple, TypeVar

LONGEST_SHOWN = 80
MOST_TOLD = 50
T = TypeVar("T")


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
        lines = [f"{file} cannot be used, it has {count}:", *(f"  {fault}" for fault in self.faults[:MOST_TOLD])]
        if len(self.faults) > MOST_TOLD:
            lines.append(f"  and {len(self.faults) - MOST_TOLD} more")
        super().__init__("\n".join(lines))


class Refused(ValueError):
    """What a reader of one value raises: pydantic carries it, and `tables.told` puts its faults where they belong."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("; ".join(map(str, faults)))
        self.faults = list(faults)


def fault(found: str, expected: str, key: str = "") -> Refused:
    """The refusal of one value; `key` is the place below the one being read."""
    return Refused([Fault("", key, found, expected)])


def all_of(parts: Iterable[tuple[str, Callable[[Any], T], Any]]) -> list[T]:
    """Each value, read by its reader; the faults of all of them at once. Parts are (key, reader, value)."""
    done, faults = [], []
    for key, read, value in parts:
        try:
            done.append(read(value))
        except Refused as refused:
            faults += [each._replace(key=joined(key, each.key)) for each in refused.faults]
    if faults:
        raise Refused(faults)
    return done


def joined(outer: str, inner: str) -> str:
    """A place inside a place: ``shape`` and ``length`` make ``shape.length``, ``band`` and `` 2`` make ``band 2``."""
    return f"{outer}.{inner}" if outer and inner and not inner.startswith(" ") else outer + inner


def shown(value: object, depth: int = 3) -> str:
    """A value as its owner wrote it, near enough to find it, and never longer than a line."""
    match value:
        case bool():
            text = "true" if value else "false"
        case str():
            text = '"' + "".join(c if c.isprintable() else "�" for c in value[: LONGEST_SHOWN + 1]) + '"'
        case list() | dict() if depth == 0:
            text = "…"
        case list():
            text = "[" + ", ".join(shown(item, depth - 1) for item in value[:4]) + (", …]" if len(value) > 4 else "]")
        case dict():
            pairs = (f"{key} = {shown(item, depth - 1)}" for key, item in list(value.items())[:4])
            text = "{ " + ", ".join(pairs) + " }"
        case int() if abs(value) > 10**LONGEST_SHOWN:
            text = "a number of many digits"
        case _:
            text = str(value)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…"
