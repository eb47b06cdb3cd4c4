"""The live stream: the newest state, encoded once, to every page that listens.

A page that reads slowly misses states, never delays others, and piles nothing up: each time it is ready it gets the
newest. A burst of states is sent as one push at once and then at most fifty a second; the more packs come in between
two pushes, the fewer there are, down to ten a second: in a flood the time is for deciding, and no eye sees more.
"""

import asyncio
from collections.abc import AsyncIterator, Callable

LEAST_GAP_S, FLOOD_GAP_S = 0.02, 0.1
GAP_A_PACK_S = 0.002
MOST_GAP_S = 0.9
MOST_STREAMS = 64


class TooManyStreams(Exception):
    """Every place is taken."""


class Live:
    """Belongs to the event loop's thread. `render` gives the present state as JSON."""

    def __init__(self, render: Callable[[], bytes]) -> None:
        self._render = render
        self._waiting: set[asyncio.Event] = set()
        self._event: bytes = b""
        self._due: asyncio.TimerHandle | None = None
        self._new = False
        self._packs = 0
        self._pushed_s = 0.0
        self._gap_s = LEAST_GAP_S
        self._closed = False
        self.pushes = 0

    def __repr__(self) -> str:
        return f"<Live {len(self._waiting)} streams, {self.pushes} pushes{', closed' if self._closed else ''}>"

    def changed(self, packs: int = 1) -> None:
        """Something is new, so many packs of it: push now, or as soon as the gap since the last push allows."""
        self._packs += packs
        if not self._waiting or self._new or self._closed:
            return
        self._new = True
        wait_s = self._pushed_s + self._gap_s - asyncio.get_running_loop().time()
        if wait_s <= 0:
            self._push()
        else:
            self._push_in(wait_s)

    def _push_in(self, wait_s: float) -> None:
        """The next push is due then, and no other."""
        if self._due is not None:
            self._due.cancel()
        self._due = asyncio.get_running_loop().call_later(wait_s, self._push)

    def _push(self) -> None:
        """The newest state to every stream, and again before long though nothing is new: silence would look like loss.

        Where nobody listens any more the pushing ends.
        """
        self._new = False
        if not self._waiting:
            self._due = None
            return
        self._push_in(MOST_GAP_S)
        self._pushed_s = asyncio.get_running_loop().time()
        self._gap_s = min(FLOOD_GAP_S, max(LEAST_GAP_S, self._packs * GAP_A_PACK_S))
        self._packs = 0
        self.pushes += 1
        self._event = b"data: " + self._render() + b"\n\n"
        for waiting in self._waiting:
            waiting.set()

    def close(self) -> None:
        """End every stream, so that the server can stop at once."""
        self._closed = True
        if self._due is not None:
            self._due.cancel()
        for waiting in self._waiting:
            waiting.set()

    def follow(self) -> AsyncIterator[bytes]:
        """Server-sent events from now on. Raises TooManyStreams at once, not at the first event."""
        if len(self._waiting) >= MOST_STREAMS:
            raise TooManyStreams
        return self._events()

    async def _events(self) -> AsyncIterator[bytes]:
        """A place is taken when the first event is asked for: a client that left before that holds none."""
        new = asyncio.Event()
        self._waiting.add(new)
        if self._due is None:
            self._push_in(MOST_GAP_S)
        try:
            yield b"retry: 1000\n\ndata: " + self._render() + b"\n\n"
            while not self._closed:
                await new.wait()
                new.clear()
                if not self._closed:
                    yield self._event
        finally:
            self._waiting.discard(new)
