"""Connections that say nothing, or too slowly, or are too many from one address, are closed."""

import asyncio
from collections import Counter
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

ASKS_WITHIN_S = 10.0
MOST_OF_ONE = 48
MOST_OF_ALL = 220


class Patient(H11Protocol):
    """Waits ten seconds for a whole request's head, and takes a bounded number of connections from one address."""

    def connection_made(self, transport: Any) -> None:
        super().connection_made(transport)
        self._deadline: asyncio.TimerHandle | None = None
        mine = Counter(each.client[0] for each in self.connections if each.client)  # type: ignore[union-attr]
        if len(self.connections) > MOST_OF_ALL or (self.client and mine[self.client[0]] > MOST_OF_ONE):
            self.transport.abort()
            return
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        self._cancel()
        super().connection_lost(exc)

    def handle_events(self) -> None:
        before = self.cycle
        super().handle_events()
        if self.cycle is not before:
            self._cancel()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._wait()

    def _wait(self) -> None:
        self._cancel()
        self._deadline = self.loop.call_later(ASKS_WITHIN_S, self._give_up)

    def _cancel(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _give_up(self) -> None:
        if self.cycle is None or self.cycle.response_complete:
            self.transport.abort()
