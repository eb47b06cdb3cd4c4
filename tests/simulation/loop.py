"""An event loop on simulated time, and workers that go through their steps on it: one thread, no waiting."""

import asyncio
import selectors
from collections.abc import Callable, Mapping
from random import Random
from typing import Any

from monitor.worker import Steps

POLL_S = (0.05, 0.45)
"""How long a worker that would block on its socket or port is away."""


class Killed(BaseException):
    """The process ends here, whatever it was doing."""


class Loop(asyncio.SelectorEventLoop):
    """Where nothing is left to be done now, time leaps to the next thing that is due."""

    def __init__(self) -> None:
        self._now_s = 0.0
        super().__init__(_Leap(self._pass))

    def time(self) -> float:
        return self._now_s

    def _pass(self, seconds: float) -> None:
        self._now_s += seconds

    def _write_to_self(self) -> None:
        """Nobody else's thread has to wake us."""


class _Leap(selectors.BaseSelector):
    """Waits for nothing but time."""

    def __init__(self, passes: Callable[[float], None]) -> None:
        self._passes = passes
        self._keys: dict[Any, selectors.SelectorKey] = {}

    def register(self, fileobj: Any, events: int, data: Any = None) -> selectors.SelectorKey:
        self._keys[fileobj] = key = selectors.SelectorKey(fileobj, 0, events, data)
        return key

    def unregister(self, fileobj: Any) -> selectors.SelectorKey:
        return self._keys.pop(fileobj)

    def get_map(self) -> Mapping[Any, selectors.SelectorKey]:
        return self._keys

    def get_key(self, fileobj: Any) -> selectors.SelectorKey:
        return self._keys[fileobj]

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        if timeout is None:
            raise RuntimeError("nothing is due, ever: the simulation stands still")
        if timeout > 0:
            self._passes(timeout)
        return []


class Hands:
    """All workers of one process. Once it is dead none of them does another step."""

    def __init__(self, loop: Loop, rng: Random, on_killed: Callable[[], None]) -> None:
        self.loop, self.rng, self.on_killed = loop, rng, on_killed
        self.dead = False

    def hire(self, name: str, steps: Callable[[], Steps]) -> "Worker":
        return Worker(name, steps, self)


class Worker:
    """monitor.worker.Worker, on the loop."""

    def __init__(self, name: str, steps: Callable[[], Steps], hands: Hands) -> None:
        self.name = name
        self._hands = hands
        self._steps = steps()
        self._due: asyncio.TimerHandle | None = None
        self._closed = False

    def start(self) -> None:
        self._after(0.0)

    def wake(self) -> None:
        """A thread is not up at once either."""
        if self._due is not None:
            self._due.cancel()
            self._after(self._hands.rng.uniform(0.0, 0.005))

    def close(self, within_s: float = 1.0) -> None:
        self._closed = True
        if self._due is not None:
            self._due.cancel()
        try:
            self._steps.close()
        except Killed:
            self._hands.dead = True

    def _after(self, seconds: float) -> None:
        self._due = self._hands.loop.call_later(seconds, self._step)

    def _step(self) -> None:
        if self._closed or self._hands.dead:
            return
        try:
            wait_s = next(self._steps)
        except StopIteration:
            return
        except Killed:
            self._hands.on_killed()
            return
        self._after(wait_s or self._hands.rng.uniform(*POLL_S))
