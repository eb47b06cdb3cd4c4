"""The pace of the deciding rounds: as soon as something has come, and at the latest a fifth of a second later.

What comes in a rush is decided on together, not each for itself, and between two rounds the loop has a moment for the
pages, however long a round takes. The event loop calls the rounds itself: a task that waits for an event costs two
turns of the loop each time, and at some ten packs a second turns are most of what is paid.
"""

import asyncio
import contextlib
from collections.abc import Callable

LONGEST_S = 0.2
LEAST_S = 0.003


class Rounds:
    """Calls `decide` on the event loop until it raises or `stop` is called."""

    def __init__(self, decide: Callable[[], None]) -> None:
        self._decide = decide
        self._loop: asyncio.AbstractEventLoop | None = None
        self._over: asyncio.Future[None] | None = None
        self._ended_s = 0.0
        self._soon: asyncio.TimerHandle | None = None
        self._stopped = False

    async def go_on(self) -> None:
        """Until `stop`. What a round raises ends them and is raised here."""
        self._loop = asyncio.get_running_loop()
        self._over = self._loop.create_future()
        if self._stopped:
            return
        self._round()
        if not self._over.done():
            self._at_the_latest()
        await self._over

    def stop(self) -> None:
        """No round begins after this."""
        self._stopped = True
        if self._over is not None and not self._over.done():
            self._over.set_result(None)

    def wake(self) -> None:
        """Something has come; from any thread."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # the loop is closed already: nobody is left to wake
                self._loop.call_soon_threadsafe(self._woken)

    def _woken(self) -> None:
        assert self._loop is not None
        early_s = self._ended_s + LEAST_S - self._loop.time()
        if early_s <= 0.0:
            self._round()
        elif self._soon is None:
            self._soon = self._loop.call_later(early_s, self._round)

    def _at_the_latest(self) -> None:
        """One timer for all rounds, moved on when it is due: to cancel and set one each round would cost more."""
        assert self._loop is not None
        assert self._over is not None
        wait_s = self._ended_s + LONGEST_S - self._loop.time()
        if wait_s <= 0.0:
            self._round()
            wait_s = LONGEST_S
        if not self._over.done():
            self._loop.call_later(wait_s, self._at_the_latest)

    def _round(self) -> None:
        assert self._loop is not None
        assert self._over is not None
        if self._soon is not None:
            self._soon.cancel()
            self._soon = None
        if self._over.done():
            return
        try:
            self._decide()
        except BaseException as fault:
            if not self._over.done():
                self._over.set_exception(fault)
        self._ended_s = self._loop.time()
