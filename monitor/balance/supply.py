"""The tap: what flows in now, and what this tap has shown it can give."""

import math
from collections import deque

SHORT_S = 8.0
LONG_S = 45.0
ENOUGH = 8  # quanta of the meter in the window: more give no better rate
OPENING_S = 120.0
TOGETHER_S = 0.05  # reports so close have waited for each other on the way: their stamps tell of no flow
CLOSE_S = 2.0
LEAST_L_MIN = 0.4  # below this a tap is as good as shut


class Inflow:
    """Flow from the water that passed a meter, whose smallest step may be a whole litre."""

    def __init__(self) -> None:
        self._passed: deque[tuple[float, float]] = deque()
        self._quantum_l: float | None = None
        self._l_min: float | None = 0.0
        self.at = 0.0

    def passed(self, at: float, litres: float) -> None:
        self.at, self._l_min = at, None
        if litres > 0.0:
            if self._quantum_l is None or litres < self._quantum_l:
                self._quantum_l = litres
            if self._passed and at - self._passed[-1][0] < TOGETHER_S:
                litres += self._passed.pop()[1]
            self._passed.append((at, litres))
        while len(self._passed) > 2 and self._passed[0][0] <= at - LONG_S:  # two always stay: a trickle is their gap
            self._passed.popleft()

    @property
    def counted_at(self) -> float:
        """When water was last counted."""
        return self._passed[-1][0] if self._passed else -math.inf

    @property
    def l_min(self) -> float:
        """l/min over the shortest window that holds enough of the meter's steps; worked out once for each report."""
        if self._l_min is None:
            self._l_min = self._measured()
        return self._l_min

    def _measured(self) -> float:
        total = 0.0
        enough_l = ENOUGH * (self._quantum_l or 0.0)
        begin, steps, before = self.at, 0, None
        for when, litres in reversed(self._passed):
            if self.at - when >= SHORT_S and total >= enough_l:
                before = when
                break
            total += litres
            begin, steps = when, steps + 1
        if steps == 0:
            return 0.0
        last = self._passed[-1][0]
        if before is not None and last - begin < CLOSE_S:  # too close to divide by: it passed since the one before
            return 60.0 * total / max(SHORT_S, last - before, self.at - last)
        return self._rate(total, begin, steps)

    def _rate(self, total: float, begin: float, steps: int) -> float:
        """The first step's water passed before its stamp, the time since the last step bounds a flow that stopped."""
        last, last_l = self._passed[-1]
        if steps == 1:
            return 60.0 * total / max(SHORT_S, self.at - last)
        mean_gap = (last - begin) / (steps - 1)
        first_l = self._passed[-steps][1]
        running = (total - first_l) / max(last - begin, 1e-9)
        if self.at - last > max(LONG_S, 3.0 * mean_gap):
            return 0.0
        if self.at - last <= 2.0 * mean_gap + 1.0:
            return 60.0 * running
        return 60.0 * min(running, last_l / (self.at - last))


class Tap:
    """What the tap gives when nothing holds it back: learned only while the float valve stands open."""

    def __init__(self) -> None:
        self.l_min: float | None = None
        self.low_l_min: float | None = None
        self.high_l_min: float | None = None
        self.since: float | None = None

    def learn(self, at: float, flow_l_min: float, dt_s: float) -> None:
        """Once a tick. The first minutes of a flow that has just been opened say nothing of its range."""
        if flow_l_min < LEAST_L_MIN:
            return
        if self.l_min is None:
            self.l_min, self.since = flow_l_min, at
        opening = self.since is not None and at - self.since < OPENING_S
        self.l_min += min(1.0, dt_s / (15.0 if opening else 60.0)) * (flow_l_min - self.l_min)
        if opening or self.low_l_min is None or self.high_l_min is None:
            self.low_l_min = self.high_l_min = self.l_min
        self.low_l_min = min(self.low_l_min, self.l_min)
        self.high_l_min = max(self.high_l_min, self.l_min)

    def new_place(self) -> None:
        """Another tap: nothing is known of it."""
        self.l_min = self.low_l_min = self.high_l_min = self.since = None
