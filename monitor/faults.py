"""A fault of the program itself in one part: said once, shown in the health, and the rest goes on."""

import logging
from collections.abc import Callable

log = logging.getLogger("holdwater")

SHOWN_S = 60.0


class Faults:
    """Which parts have failed, and when last. `monotonic` gives seconds."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._last: dict[str, tuple[float, str]] = {}
        self._said: set[tuple[str, str]] = set()

    def held(self, part: str) -> "Held":
        """What is raised inside ends there. Each kind of fault of a part is logged once, with where it happened."""
        return Held(self, part)

    def note(self, part: str, fault: Exception) -> None:
        what = f"{type(fault).__name__}: {fault}"
        self._last[part] = (self._monotonic(), what[:200])
        kind = (part, type(fault).__name__)
        if kind not in self._said:
            self._said.add(kind)
            told = "A fault of the program in %s. The rest goes on; please report what follows."
            log.error(told, part, exc_info=fault)

    def recent(self, part: str) -> str | None:
        """What failed within the last minute, or None."""
        at, what = self._last.get(part, (float("-inf"), ""))
        return what if self._monotonic() - at < SHOWN_S else None

    def parts(self) -> list[str]:
        return [part for part in self._last if self.recent(part)]


class Held:
    """Written out: a generator for it would cost more than most of what is done inside."""

    __slots__ = ("_faults", "_part")

    def __init__(self, faults: Faults, part: str) -> None:
        self._faults, self._part = faults, part

    def __enter__(self) -> None:
        return None

    def __exit__(self, _kind: type[BaseException] | None, fault: BaseException | None, _trace: object) -> bool:
        if not isinstance(fault, Exception):
            return False
        self._faults.note(self._part, fault)
        return True
