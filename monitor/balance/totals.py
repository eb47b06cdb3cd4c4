"""Water that passed a meter, from a running total that may be lost, doubled, late, rolled over or begun again.

A total loses nothing when packets are lost: the next one carries what passed meanwhile. Only a reboot of the node
hides water: what ran between its last report and the restart was counted by nobody.
"""

from collections.abc import Callable
from typing import NamedTuple

ROLL_OVERS = (2.0**16, 2.0**32)
NEAR = 0.02  # of the counter's range: a fall from within it counts as a roll-over
MOST_L_MIN = 400.0  # no garden tap and no hydrant hose of this trade passes more; a larger step is a fault


class Passed(NamedTuple):
    """What a new total says: litres that passed, litres that may have passed unseen, and whether it began anew."""

    litres: float
    unseen_l: float = 0.0
    restarted: bool = False
    odd: bool = False
    """The step was larger than any meter passes in that time; it is not believed."""


NOTHING = Passed(0.0)


class Totals:
    """One running total. `l_per_count` turns the counter into litres (1 for a total already in litres)."""

    def __init__(self, l_per_count: float = 1.0, counts: bool = False) -> None:
        self.l_per_count = l_per_count
        self.counts = counts
        self.last: float | None = None
        self.last_s = 0.0

    def take(self, total: float, time_s: float, flow_l_min: Callable[[], float] = float) -> Passed:
        """A total as of `time_s`; `flow_l_min` is asked for the flow before it only where some may have passed unseen.

        A total older than the last one, or the same again, passes nothing.
        """
        if self.last is None:
            self.last, self.last_s = total, time_s
            return NOTHING
        if time_s < self.last_s:
            return NOTHING
        since_s, step = time_s - self.last_s, total - self.last
        before, self.last, self.last_s = self.last, total, time_s
        if step < 0:
            return self._fallen(before, total, since_s, flow_l_min)
        return self._believed(step * self.l_per_count, since_s)

    def _fallen(self, before: float, total: float, since_s: float, flow_l_min: Callable[[], float]) -> Passed:
        for most in ROLL_OVERS if self.counts else ():
            if most * (1 - NEAR) <= before < most and total < most * NEAR:
                return self._believed((total + most - before) * self.l_per_count, since_s)
        unseen_l = flow_l_min() * since_s / 60.0
        since_zero = self._believed(total * self.l_per_count, since_s)
        return since_zero._replace(unseen_l=unseen_l, restarted=True)

    def _believed(self, litres: float, since_s: float) -> Passed:
        if litres > MOST_L_MIN * (since_s + 2.0) / 60.0:
            return Passed(0.0, odd=True)
        return Passed(litres)

    def save(self) -> dict[str, float] | None:
        return None if self.last is None else {"last": self.last, "last_s": self.last_s}

    def restore(self, saved: dict[str, float] | None) -> None:
        if saved is not None:
            self.last, self.last_s = saved["last"], saved["last_s"]
