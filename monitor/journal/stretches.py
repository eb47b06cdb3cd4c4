"""Which run speaks for which stretch of wall time.

A clock that was set wrong, or a demo that lives the same day again, makes runs overlap; then the later run counts.
"""

import heapq
from collections import deque
from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

from monitor.journal.stored import Run


class Stretch(NamedTuple):
    """From a time up to before another, on the run's own time line."""

    run: Run
    from_us: int
    upto_us: int

    @property
    def wall_us(self) -> int:
        """Where it begins in wall time, as far as that is known."""
        return self.from_us + self.run.shift_us


def stretches(runs: Iterable[Run], since_us: int, until_us: int) -> list[Stretch]:
    """The window (wall time) in pieces, each of one run, in order."""
    spans = sorted(_spans(runs, since_us, until_us))
    waiting = deque(spans)
    active: list[tuple[int, int, Run]] = []
    found: list[Stretch] = []
    for start, end in pairwise(sorted({edge for span in spans for edge in span[:2]})):
        while waiting and waiting[0][0] <= start:
            _, upto, run = waiting.popleft()
            heapq.heappush(active, (-run.id, upto, run))
        while active and active[0][1] <= start:
            heapq.heappop(active)
        if active:
            _append(found, active[0][2], start, end)
    return found


def _spans(runs: Iterable[Run], since_us: int, until_us: int) -> Iterable[tuple[int, int, Run]]:
    for run in runs:
        start, end = max(since_us, run.began_us + run.shift_us), min(until_us, run.upto_us + run.shift_us + 1)
        if start < end:
            yield start, end, run


def _append(found: list[Stretch], run: Run, start_us: int, end_us: int) -> None:
    stretch = Stretch(run, start_us - run.shift_us, end_us - run.shift_us)
    if found and found[-1].run is run and found[-1].upto_us == stretch.from_us:
        stretch = stretch._replace(from_us=found.pop().from_us)
    found.append(stretch)
