"""The bounded queue before the writer, and what it had to turn away."""

import threading
from collections import deque
from collections.abc import Iterable
from itertools import islice

from monitor.changes import AlarmChange
from monitor.journal.rows import microseconds
from monitor.journal.store import Gap, Item
from monitor.readings import Act, WallStep

AT_ONCE = (AlarmChange, Act, WallStep)


class Waiting:
    """Any thread puts at the end, the writer takes from the front once it has stored.

    When it is full, what is new is turned away and counted: readings and forecasts first, what people did and were
    told only when there is twice as much.
    """

    def __init__(self, longest: int) -> None:
        self.dropped = 0
        self.urgent = False
        self.closed = False
        self._longest = longest
        self._guard = threading.Lock()
        self._items: deque[Item] = deque()
        self._gap: Gap | None = None

    def __len__(self) -> int:
        return len(self._items)

    def put(self, items: Iterable[Item]) -> bool:
        """True where they should be written at once."""
        pressing = False
        with self._guard:
            for item in items:
                at_once = isinstance(item, AT_ONCE)
                if self.closed or len(self._items) >= self._longest * (1 + at_once):
                    self._turn_away(item)
                    continue
                self._items.append(item)
                pressing = pressing or at_once
            self.urgent = self.urgent or pressing
        return pressing

    def first(self, most: int) -> tuple[list[Item], Gap | None]:
        """What to write next; it goes on waiting until `take`."""
        with self._guard:
            self.urgent = False
            return list(islice(self._items, most)), self._gap

    def take(self, count: int, gap: Gap | None) -> None:
        """So many are stored, and that gap is told."""
        with self._guard:
            for _ in range(count):
                self._items.popleft()
            if gap is not None and self._gap is not None:
                more = self._gap.dropped - gap.dropped
                self._gap = Gap(gap.upto_us, self._gap.upto_us, more) if more else None

    def give_up_first(self) -> None:
        """The first of them can't be stored, whatever is done."""
        with self._guard:
            self._turn_away(self._items.popleft())

    def _turn_away(self, item: Item) -> None:
        self.dropped += 1
        try:
            at_us = microseconds(item.at)
        except (ValueError, OverflowError):
            return
        gap = self._gap or Gap(at_us, at_us, 0)
        self._gap = Gap(min(gap.from_us, at_us), max(gap.upto_us, at_us), gap.dropped + 1)
