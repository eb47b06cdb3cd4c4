"""Values thrown together: the least, the mean and the most of a stretch of time."""

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence

from monitor.journal.blocks import Trace


class Heap:
    """Values of one signal in one stretch of time. What is no finite number is left out."""

    __slots__ = ("hi", "lo", "n", "sum")

    def __init__(self) -> None:
        self.n = 0
        self.sum = 0.0
        self.lo, self.hi = math.inf, -math.inf

    @property
    def mean(self) -> float:
        return self.sum / self.n

    def add(self, values: Sequence[float]) -> None:
        total = sum(values)
        if total - total != 0.0:
            values = [value for value in values if value - value == 0.0]
            total = sum(values)
        if values:
            self.n += len(values)
            self.sum += total
            self.lo, self.hi = min(self.lo, *values), max(self.hi, *values)

    def join(self, other: "Heap") -> None:
        """What is in another heap, too."""
        self.n += other.n
        self.sum += other.sum
        self.lo, self.hi = min(self.lo, other.lo), max(self.hi, other.hi)


def buckets(trace: Trace, origin_us: int, width_us: int) -> Iterator[tuple[int, tuple[float, ...]]]:
    """A trace cut into stretches of equal width: the number of each, counted from the origin, and its values."""
    start, at_us = 0, trace.at_us
    while start < len(at_us):
        number = (at_us[start] - origin_us) // width_us
        end = bisect_left(at_us, origin_us + (number + 1) * width_us, start)
        yield number, trace.values[start:end]
        start = end


def clipped(trace: Trace, from_us: int, upto_us: int) -> Trace:
    """The part of a trace from a time up to before another."""
    start, end = bisect_left(trace.at_us, from_us), bisect_left(trace.at_us, upto_us)
    return trace._replace(at_us=trace.at_us[start:end], values=trace.values[start:end])
