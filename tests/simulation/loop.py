"""An event loop on simulated time, and workers that go through their steps on it: one thread, no waiting."""

import asyncio
from collections.abc import Callable
from contextvars import Context
from heapq import heappop, heappush
from random import Random
from typing import Any

from monitor.worker import Steps

POLL_S = (0.05, 0.45)
"""How long a worker that would block on its socket or port is away."""

AT_ONCE_S = 1e-9
"""What is due within so little of each other is done in one turn."""


class Killed(BaseException):
    """The process ends here, whatever it was doing."""


class Loop(asyncio.BaseEventLoop):
    """Where nothing is left to be done now, time leaps to the next thing that is due.

    Nothing comes from outside, so no selector is asked; and what is due is sorted by its time as a plain number:
    asyncio's own handles compare themselves in Python, a dozen times for each that is set.
    """

    def __init__(self) -> None:
        super().__init__()
        self._now_s = 0.0
        self._due: list[tuple[float, asyncio.TimerHandle]] = []

    def time(self) -> float:
        return self._now_s

    def call_later(
        self, delay: float, callback: Callable[..., object], *args: Any, context: Context | None = None
    ) -> asyncio.TimerHandle:
        return self.call_at(self._now_s + delay, callback, *args, context=context)

    def call_at(
        self, when: float, callback: Callable[..., object], *args: Any, context: Context | None = None
    ) -> asyncio.TimerHandle:
        handle = asyncio.TimerHandle(when, callback, args, self, context)
        heappush(self._due, (when, handle))
        return handle

    def _run_once(self) -> None:
        due, ready = self._due, self._ready
        while due and due[0][1]._cancelled:
            heappop(due)
        if not ready and not self._stopping:
            if not due:
                raise RuntimeError("nothing is due, ever: the simulation stands still")
            self._now_s += max(0.0, due[0][0] - self._now_s)
        while due and due[0][0] < self._now_s + AT_ONCE_S:
            ready.append(heappop(due)[1])
        for _ in range(len(ready)):
            handle = ready.popleft()
            if not handle._cancelled:
                handle._run()

    def _write_to_self(self) -> None:
        """Nobody else's thread has to wake us."""


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
