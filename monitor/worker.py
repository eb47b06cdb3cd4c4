"""Work that goes on beside the deciding loop: on a thread of its own, or stepped by a simulated clock."""

import contextlib
import threading
from collections.abc import Callable, Generator
from typing import Protocol, TypeAlias

Steps: TypeAlias = Generator[float, None, None]
"""Work in steps: between two of them it says how many real seconds it can wait. Closing it is its end: what it has to
do last it does on GeneratorExit."""

WITHIN_S = 1.0


class Worker(Protocol):
    """Whoever goes through the steps."""

    def start(self) -> None: ...

    def wake(self) -> None:
        """The next step now, whatever it said; from any thread."""

    def close(self, within_s: float = WITHIN_S) -> None:
        """Ends the work after the present step, and waits for that so long."""


Hire: TypeAlias = Callable[[str, Callable[[], Steps]], Worker]
"""A worker of that name for those steps, not yet started."""


class Thread:
    """Goes through the steps on a thread that does not keep the process alive."""

    def __init__(self, name: str, steps: Callable[[], Steps]) -> None:
        self._steps = steps
        self._awake = threading.Event()
        self._closing = False
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self) -> None:
        self._thread.start()

    def wake(self) -> None:
        self._awake.set()

    def close(self, within_s: float = WITHIN_S) -> None:
        self._closing = True
        self._awake.set()
        if self.is_alive():
            self._thread.join(within_s)

    def is_alive(self) -> bool:
        return self._thread.is_alive()

    def _run(self) -> None:
        with contextlib.closing(self._steps()) as steps:
            for wait_s in steps:
                if not self._closing:
                    self._awake.wait(wait_s)
                self._awake.clear()
                if self._closing:
                    return
