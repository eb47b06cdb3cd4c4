"""The one queue between the feeds' threads and the core: bounded, in order, stamped on arrival."""

import threading
from collections import deque
from collections.abc import Callable

from monitor.feeds.clock import Clock
from monitor.readings import Alive, Event, Pack, Record, Reject

LONGEST = 20_000


class Stamps:
    """Arrival times as the core wants them: whole microseconds, each later than the one before."""

    def __init__(self) -> None:
        self._last_us = -(2**62)

    def next(self, at: float) -> float:
        """`at` in Unix seconds, raised by as little as it takes to come after the last one."""
        self._last_us = max(round(at * 1e6), self._last_us + 1)
        return self._last_us / 1e6


class Inbox:
    """Any thread puts in, the daemon's loop drains.

    When it is full the oldest pack, word of life or reject makes room and is counted in `dropped`. What a person
    did and a step of the wall clock are never dropped.
    """

    def __init__(self, clock: Clock, longest: int = LONGEST, on_arrival: Callable[[], None] = lambda: None) -> None:
        """`on_arrival` is called, outside the lock, when something arrives in an empty inbox."""
        self.on_arrival = on_arrival
        self.dropped = 0
        self._clock = clock
        self._longest = longest
        self._lock = threading.Lock()
        self._stamps = Stamps()
        self._arrivals: deque[Event] = deque()
        self._kept: deque[Event] = deque()

    def pack(
        self, feed: str, node: str, records: tuple[Record, ...], retained: bool = False, at: float | None = None
    ) -> None:
        """Readings of one node. `at` in Unix seconds on the daemon's time line, now if left out."""
        with self._lock:  # as `_put` does it, written out: packs come in hundreds where the rest comes singly
            was_empty = not self._arrivals and not self._kept
            at = self._stamps.next(self._clock.now() if at is None else at)
            self._store(Pack(at, feed, node, records, retained))
        if was_empty:
            self.on_arrival()

    def alive(self, feed: str, node: str, up: bool, retained: bool = False, at: float | None = None) -> None:
        """A node's own word, or its will: it is up, or gone."""
        self._put(Alive(0.0, feed, node, up, retained), at)

    def reject(self, feed: str, kind: str, why: str, raw: str = "", at: float | None = None) -> None:
        """Something came that can't be used."""
        self._put(Reject(0.0, feed, kind, why, raw), at)

    def put(self, event: Event) -> None:
        """An event that has its time already; `at` is raised if it would fall."""
        self._put(event, event.at)

    def let_go(self) -> None:
        """Something came that nobody has the time to look at."""
        with self._lock:
            self.dropped += 1

    def drain(self) -> list[Event]:
        """All that has arrived, in order; the inbox is empty afterwards."""
        with self._lock:
            return self._empty()

    def drain_to_now(self) -> tuple[list[Event], float]:
        """All that has arrived, and a time that comes after it and before all that is still to arrive.

        Up to that time the core may be ticked: a replay of the same arrivals ticks at the same places.
        """
        with self._lock:
            now = self._stamps.next(self._clock.now())
            return self._empty(), now

    def _put(self, event: Event, at: float | None) -> None:
        with self._lock:
            was_empty = not self._arrivals and not self._kept
            stamped = event._replace(at=self._stamps.next(self._clock.now() if at is None else at))
            self._store(stamped)
        if was_empty:
            self.on_arrival()

    def _empty(self) -> list[Event]:
        events = sorted((*self._arrivals, *self._kept), key=_at) if self._kept else list(self._arrivals)
        self._arrivals.clear()
        self._kept.clear()
        return events

    def _store(self, event: Event) -> None:
        if not isinstance(event, Pack | Alive | Reject):
            self._kept.append(event)
            return
        if len(self._arrivals) >= self._longest:
            self._arrivals.popleft()
            self.dropped += 1
        self._arrivals.append(event)


def _at(event: Event) -> float:
    return event.at
