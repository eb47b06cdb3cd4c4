"""Full flow, or restricted past a soap nozzle: what each pump takes in either mode.

The filter holds what a pump takes now; the rate of its other mode is kept here and exchanged for it when the crew says
that it soaps, or rinses again. The level alone can't tell in time: on a rig of 2 m³ whose level is good to 3 mm a
nozzle that takes away a third of 18 l/min is sure after some 80 s of drawing (by the likelihood ratio of Willsky and
Jones, IEEE Trans. Automatic Control 21, 1976), and a wall is soaped by then.
"""

from collections.abc import Sequence

from monitor.balance.filter import Filter

GUESS, GUESS_SD = 0.65, 0.15  # of the full flow, until the level has shown it

Rate = tuple[float, float]
"""Mean and sd in l/min."""


class Modes:
    """All pumps of a rig, in their order."""

    def __init__(self, pumps: int) -> None:
        self.restricted = [False] * pumps
        self.other: list[Rate | None] = [None] * pumps
        """What each takes in the mode in which it is not."""

    def tell(self, filter_: Filter, pump: int, restricted: bool) -> None:
        """The crew soaps with it, or not; to be told as often as one likes."""
        if restricted == self.restricted[pump]:
            return
        now = filter_.rate(pump)
        filter_.set_rate(pump, *(self.other[pump] or (GUESS * now[0], GUESS_SD * now[0])))
        self.restricted[pump], self.other[pump] = restricted, now

    def full(self, now: Sequence[float], sds: Sequence[float]) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """What each takes at full flow (l/min) and the sd of that, from what they take now."""
        pairs = zip(self.restricted, self.other, now, sds, strict=True)
        rates = [other if soaps and other else (rate, sd) for soaps, other, rate, sd in pairs]
        return tuple(mean for mean, _ in rates), tuple(sd for _, sd in rates)

    def soaping(self, now: Sequence[float], sds: Sequence[float]) -> list[Rate | None]:
        """What each takes past the soap nozzle, where that is known."""
        pairs = zip(self.restricted, self.other, now, sds, strict=True)
        return [(rate, sd) if soaps else other for soaps, other, rate, sd in pairs]

    def restore(self, soaping: Sequence[Sequence[float] | None]) -> None:
        """What an earlier daemon learned of the soap nozzles."""
        self.other = [(rate[0], max(rate[1], 0.02 * rate[0])) if rate else None for rate in soaping]
