"""A fault of the program itself in one part: said once, shown in the health, and the rest goes on."""

import contextlib
import logging
from collections.abc import Callable, Iterator

log = logging.getLogger("holdwater")

SHOWN_S = 60.0


class Faults:
    """Which parts have failed, and when last. `monotonic` gives seconds."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._last: dict[str, tuple[float, str]] = {}
        self._said: set[tuple[str, str]] = set()

    @contextlib.contextmanager
    def held(self, part: str) -> Iterator[None]:
        """What is raised inside ends there. Each kind of fault of a part is logged once, with where it happened."""
        try:
            yield
        except Exception as fault:
            what = f"{type(fault).__name__}: {fault}"
            self._last[part] = (self._monotonic(), what[:200])
            kind = (part, type(fault).__name__)
            if kind not in self._said:
                self._said.add(kind)
                log.exception("A fault of the program in %s. The rest goes on; please report what follows.", part)

    def recent(self, part: str) -> str | None:
        """What failed within the last minute, or None."""
        at, what = self._last.get(part, (float("-inf"), ""))
        return what if self._monotonic() - at < SHOWN_S else None

    def parts(self) -> list[str]:
        return [part for part in self._last if self.recent(part)]
