"""The metered flow steps: has the water changed, or the meter?

From the step on two filters run side by side, begun just before it. One is told what the meter counts, the other that
the water goes on flowing as before; each weighs by itself which pumps draw. Which of them foretells the level better
is a sequential test (Wald, Annals of Mathematical Statistics 16, 1945): with bounds of ±log 9 one decision in ten may
be wrong either way, with log 1000 one in a thousand. A tap that somebody shuts is daily work, often just when the guns
are put down, and a meter that steps is not: so the bound for the meter is the higher one wherever only a part is
missing or no signal tells who draws. Readings a second apart share slosh, so that a second's evidence counts for less
than a second (`INDEPENDENT`), and none for more than `MOST`: an echo decides nothing. Neither twin knows of a leak, and
a slow one goes better with a pump that takes what the tap gives than with a shut tap: where no signal tells who draws,
a level that creeps is no evidence for the meter.
"""

import math
from collections import deque
from typing import Literal, NamedTuple

from monitor.balance.balance import Shares, TankTable
from monitor.balance.filter import Filter
from monitor.balance.kalman import R0, B, E, G, Hypothesis, V

STOP_DEAD, STOP_SHUT = math.log(9.0), math.log(9.0)
STEP_METER, CORRECTS = math.log(1000.0), math.log(1000.0)
INDEPENDENT, MOST = 0.5, 0.7
LONGEST_S, PART_S, WATCHED_S, UNPROVEN_S = 40.0, 280.0, 300.0, 3600.0
SETTLES_S, CORRECTED_S, CREEPS_S = 8.0, 180.0, 180.0
LEAST_STEP, SAME = 0.15, 0.07
LEAST_L_MIN = 3.0
USUAL_S, KNOWN_S, LASTS_S, BACK_S = 30.0, 15.0, 15.0, 10.0
HALF = 0.5
RISES_S, LOOK_BACK = 30.0, 7  # a meter of coarse steps shows another flow only so late
STOPPED_SHARE = 0.2
LOOSE_PART = 0.25  # who draws is known there, and how much after an hour or so
DRAW_SD, FLOW_SD = 0.1, 0.05  # soap, nozzles, a half-open gun; a tap's wandering
OUTLIER = 25.0
EVERY_S, KEPT = 10.0, 12

Says = Literal["", "water", "meter"]


class Second(NamedTuple):
    """What was told in one second; `height_m` where the level may be believed."""

    at: float
    metered_l: float
    shares: Shares
    height_m: float | None
    noise_m2: float
    creeps: bool = False
    """For `CREEPS_S` the level has gone straight, and as slowly as a leak lets it."""


def twin(of: Filter) -> Filter:
    """The same once more, to be told something else from now on."""
    other = Filter.__new__(Filter)
    vars(other).update(vars(of))
    other.hypotheses = [Hypothesis(h.mask, h.weight, h.mean[:], [line[:] for line in h.cov]) for h in of.hypotheses]
    return other


class Twin:
    """One of the two, and how well it foretells the level."""

    def __init__(self, begun: Filter, tank: TankTable, loose: float) -> None:
        """`loose`: how far draws and flow may be off, in usual shares."""
        self.filter, self.tank = twin(begun), tank
        for hyp in self.filter.hypotheses:
            for k in range(len(hyp.mean)):
                hyp.cov[E][k] = hyp.cov[k][E] = hyp.cov[B][k] = hyp.cov[k][B] = 0.0
            hyp.cov[G][G] += (loose * FLOW_SD) ** 2
            for k in range(R0, len(hyp.mean)):
                hyp.cov[k][k] += (loose * DRAW_SD * hyp.mean[k]) ** 2

    def live(self, second: Second, metered_l: float) -> tuple[float, float] | None:
        """Likelihood (log) of this second's level, and how odd it is (squares of sd); None without a level."""
        self.filter.step(1.0, metered_l, second.shares)
        if second.height_m is None:
            return None
        volume_l = sum(h.weight * h.mean[V] for h in self.filter.hypotheses)
        believed_m = self.tank.height_m(volume_l)
        slope = self.tank.slope_l_per_m(believed_m)
        seen_l = volume_l + slope * (second.height_m - believed_m)
        noise_l2 = second.noise_m2 * slope * slope
        off, spread = self.filter.surprise(seen_l, slope, noise_l2)
        odd = off * off / spread
        return (0.0, odd) if odd > OUTLIER else (self.filter.see(seen_l, slope, noise_l2), odd)


class Step:
    """One step from `usual_l_min`, the last water before it counted at `at`."""

    def __init__(self, at: float, usual_l_min: float, begun: Filter, tank: TankTable, stop: bool = True) -> None:
        self.at, self.usual_l_min, self.stop = at, usual_l_min, stop
        loose = 1.0 if stop else LOOSE_PART
        self.water, self.meter = Twin(begun, tank, loose), Twin(begun, tank, loose)
        self.likelier = self.counted_l = 0.0
        """The meter against the water, as a logarithm."""
        self.says: Says = ""
        self.told, self._told = False, True

    def add(self, second: Second) -> None:
        after_s = second.at - self.at
        self._told = self._told and all(share is not None for share in second.shares)
        goes_on = self.usual_l_min / 60.0 if after_s > 0.0 else second.metered_l
        if after_s > 0.0:
            self.counted_l += second.metered_l
        if after_s > (UNPROVEN_S if self._unproven else WATCHED_S) or (self.says and not self.stop):
            return
        seen = self.water.live(second, second.metered_l), self.meter.live(second, goes_on)
        if seen[0] is not None and seen[1] is not None and min(seen[0][1], seen[1][1]) <= OUTLIER and after_s > 0.0:
            apart = INDEPENDENT * (seen[1][0] - seen[0][0])
            if max(seen[0][1], seen[1][1]) > OUTLIER:
                apart = math.copysign(MOST, seen[0][1] - seen[1][1])
            creeps = second.creeps and after_s > CREEPS_S
            most = 0.0 if creeps and not self._told else MOST
            self.likelier += max(-MOST, min(most, apart))
        if after_s >= SETTLES_S:
            self.says = self._decide(after_s)

    @property
    def stopped(self) -> bool:
        """Next to nothing is counted any more."""
        return self.share < STOPPED_SHARE

    @property
    def proven(self) -> bool:
        """The level itself tells that it was the water."""
        return self.says == "water" and self.likelier < -STOP_SHUT

    @property
    def _unproven(self) -> bool:
        """The water was named for want of a sign: the first level that rises may still tell that it was the meter."""
        return self.stop and self.stopped and self.says == "water" and not self.proven

    share = 1.0

    def _decide(self, after_s: float) -> Says:
        self.share = self.counted_l / (self.usual_l_min * after_s / 60.0)
        meter, water = (STOP_DEAD, STOP_SHUT) if self.stopped and self._told else (STEP_METER, STOP_SHUT)
        if self.says:
            return self._corrected(after_s)
        if self.likelier > meter and (self.stop or abs(self.share - 1.0) > LEAST_STEP):
            return "meter"  # a flow that has come back meanwhile is no step any more
        if self.likelier < -water:
            return "water"
        late = after_s > (LONGEST_S if self.likelier <= 0.0 and self.stop else PART_S)
        return "water" if late else ""

    def _corrected(self, after_s: float) -> Says:
        if self.says == "water" and self.likelier > CORRECTS:
            return "meter"
        late = after_s >= CORRECTED_S  # by then the tap may well have been shut besides
        return "water" if self.says == "meter" and self.likelier < -CORRECTS and not late else self.says


class Steps:
    """Told of each second; `step` is the one that is going on."""

    def __init__(self, tank: TankTable) -> None:
        self.tank = tank
        self.step: Step | None = None
        self.usual_l_min = self._known_s = self._off_s = 0.0
        self._seconds: deque[Second] = deque(maxlen=int(EVERY_S * KEPT))
        self._kept: deque[tuple[float, Filter]] = deque(maxlen=KEPT)
        self._flows: deque[tuple[float, float]] = deque(maxlen=LOOK_BACK)

    def add(self, second: Second, flow_l_min: float, counted_at: float, now: Filter) -> None:
        """`now`: the filter after this second; `counted_at`: when the meter last counted water."""
        self._remember(second, now)
        if self.step is not None:
            self.step.add(second)
            if self._over(second.at, self.step, flow_l_min, counted_at):
                self.step, self._off_s = None, 0.0
        if self.step is None or (self.step.says == "water" and not self.step.stopped):
            self._watch(second, flow_l_min, counted_at)

    def _remember(self, second: Second, now: Filter) -> None:
        self._seconds.append(second)
        if not self._kept or second.at - self._kept[-1][0] >= EVERY_S:
            self._kept.append((second.at, twin(now)))

    def _watch(self, second: Second, flow_l_min: float, counted_at: float) -> None:
        """The flow as it usually is, until it steps: a stop at once, a change when it has lasted."""
        known, at = self._known_s > KNOWN_S, second.at
        if known and flow_l_min < HALF * self.usual_l_min:
            self._start(counted_at, self.usual_l_min, True)
            return
        before = self._flows[0][1] if len(self._flows) == LOOK_BACK else 0.0
        told = all(share is not None for share in second.shares)
        off = known and told and before > LEAST_L_MIN and abs(flow_l_min - before) > LEAST_STEP * before
        self._off_s = self._off_s + 1.0 if off else 0.0
        if self._off_s > LASTS_S:
            self._start(at - LASTS_S - RISES_S, before, False)
        elif flow_l_min > LEAST_L_MIN:
            self._known_s += 1.0
            self.usual_l_min += (flow_l_min - self.usual_l_min) / min(USUAL_S, self._known_s)
            if not self._flows or at - self._flows[-1][0] >= EVERY_S:
                self._flows.append((at, self.usual_l_min))

    def _start(self, at: float, usual_l_min: float, stop: bool) -> None:
        self.step = self._begin(at, usual_l_min, stop)
        self._known_s = self._off_s = 0.0
        self._flows.clear()

    def _over(self, at: float, step: Step, flow_l_min: float, counted_at: float) -> bool:
        """The flow is back as it was, or another one that nobody doubts."""
        if at - counted_at < BACK_S and abs(flow_l_min - step.usual_l_min) < SAME * step.usual_l_min:
            return True
        if step.says == "water" and step.stopped:
            return flow_l_min > LEAST_L_MIN and counted_at > step.at + SETTLES_S and at - counted_at < BACK_S
        return step.says == "water" and at - step.at > WATCHED_S

    def _begin(self, at: float, usual_l_min: float, stop: bool) -> Step:
        begun_at, begun = next((kept for kept in reversed(self._kept) if kept[0] <= at), self._kept[0])
        step = Step(max(at, begun_at), usual_l_min, begun, self.tank, stop)
        for second in self._seconds:
            if second.at > begun_at:
                step.add(second)
        return step

    def clear(self) -> None:
        """What was said of the step has been shown not to hold."""
        self.step = None

    def forget(self) -> None:
        """Another place, or the level stands elsewhere."""
        self.step = None
        self.usual_l_min = self._known_s = self._off_s = 0.0
        self._seconds.clear()
        self._kept.clear()
        self._flows.clear()
