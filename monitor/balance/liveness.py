"""Is a signal, or a node, still heard? Silence is judged against what was normal for it.

The longest normal silence is what the node says (SenML ``ut``), else three times its learned gap, at least 5 s.
"""

import math

LEAST_S = 5.0
UNKNOWN_S = 20.0  # a signal heard once: its gap is not known yet, and it is not called good for long
LEARN = 0.1  # weight of the newest gap


class Liveness:
    """Learns the usual gap between arrivals, and says when silence is longer than normal.

    `of_s`: the latest moment that what was heard speaks of. What was kept on the way is heard now and of long ago.
    """

    __slots__ = ("count", "every_s", "gap_s", "heard_s", "of_s")

    def __init__(self) -> None:
        self.heard_s: float | None = None
        self.of_s = -math.inf
        self.gap_s: float | None = None
        self.every_s: float | None = None
        self.count = 0

    def hear(self, at: float, every_s: float | None = None, of_s: float | None = None) -> None:
        """Something came at `at`, and speaks of `of_s`; of now where that is left out."""
        self.count += 1
        self.of_s = max(self.of_s, at if of_s is None else of_s)
        if every_s is not None:
            self.every_s = every_s
        if self.heard_s is not None:
            self._learn(at - self.heard_s)
        self.heard_s = at

    def _learn(self, gap_s: float) -> None:
        if self.gap_s is None:
            self.gap_s = gap_s
        else:  # an outage must not teach a long gap at once; a node that really slows down still gets through
            self.gap_s += LEARN * (min(gap_s, 3 * self.gap_s + 0.5) - self.gap_s)

    @property
    def limit_s(self) -> float:
        if self.every_s is not None:
            return self.every_s
        return UNKNOWN_S if self.gap_s is None else max(LEAST_S, 3 * self.gap_s)

    def age_s(self, at: float) -> float | None:
        """How old the newest is that was heard."""
        return None if self.heard_s is None else max(0.0, at - self.of_s)

    def silent(self, at: float) -> bool:
        """True when it was heard before and has now been silent for longer than is normal."""
        return self.heard_s is not None and at - self.heard_s > self.limit_s
