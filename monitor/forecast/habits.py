"""The crew's habits, learned from what they do: how long a trigger is held, how long it rests, when all pause.

A semi-Markov picture in two storeys. Below, each pump alternates between drawing and pausing, and the durations of both
are remembered as they come. Above, the crew alternates between working and resting (a break, a move): while it rests,
the pumps' own clocks stand still. A tap that somebody shuts while nobody draws tells that a rest begins. Nothing about
any crew is built in: a handful of log-uniform guesses, broad on purpose, stand for what has not been seen yet, and fade
as durations are learned.
"""

import math
from bisect import bisect_left
from collections.abc import Sequence
from itertools import accumulate
from random import Random
from statistics import NormalDist
from typing import Any

REST_S = 180.0  # nobody has drawn for so long: the crew rests
KEPT = 60  # durations remembered; the oldest go first
GUESSES = 1.0  # how many durations the guess weighs as much as
GUESSED_SPREAD = 0.8  # of the logarithm of a duration, as one observation's worth of belief
KERNEL = 0.7
KERNELS = 64
SHARES = [NormalDist().inv_cdf((k + 0.5) / KERNELS) for k in range(KERNELS)]
LEAST_S = 0.2
TRIES, SHORT = 30, 0.1  # a draw that hardly any kernel reaches: it ends soon


class Durations:
    """Durations of one state: those seen, and a broad guess (log-uniform between `least_s` and `most_s`)."""

    def __init__(self, least_s: float, most_s: float) -> None:
        self.least_s, self.most_s = least_s, most_s
        self.seen: list[float] = []
        self.logs: list[float] = []
        self.width = GUESSED_SPREAD
        self.factors = [1.0]
        """The kernel in equal shares: so many times as long as one that was seen."""

    def learn(self, duration_s: float) -> None:
        self.remember([*self.seen, max(0.5, duration_s)])

    def remember(self, seen: Sequence[float]) -> None:
        """Take these for what was seen, the latest last."""
        self.seen = list(seen)[-KEPT:]
        self.logs = [math.log(duration_s) for duration_s in self.seen]
        self.width = width(self.logs)
        self.factors = [math.exp(self.width * normal) for normal in SHARES]

    def lasting(self, elapsed_s: float = 0.0) -> "Remaining":
        """What may still come of a state that has lasted `elapsed_s` already."""
        return Remaining(self, elapsed_s)


class Remaining:
    """The remaining duration of a state, given how long it has lasted. Weighed once, drawn from many times.

    What was seen is smoothed by a kernel in the logarithm of time: a crew that keeps a beat is foretold sharply, one
    of which little is known broadly. Its width follows the spread of what was seen and their number (Silverman,
    Density Estimation for Statistics and Data Analysis, 1986, eq. 3.31: 1.06 s n^-1/5, of which two thirds are taken,
    for pauses come in two kinds); while few were seen the spread leans on `GUESSED_SPREAD`.
    """

    def __init__(self, of: Durations, elapsed_s: float) -> None:
        self.seen, self.elapsed_s, self.many = of.seen, elapsed_s, len(of.seen)
        self.width, self.factors = of.width, of.factors
        self.weights: list[float] = []
        weight = float(len(of.seen))
        if elapsed_s > 0.0 and of.seen:
            past, scale = math.log(elapsed_s), 1.0 / (self.width * math.sqrt(2.0))
            self.weights = list(accumulate(0.5 * math.erfc((past - log) * scale) for log in of.logs))
            weight = self.weights[-1]
        low, high = max(of.least_s, elapsed_s), of.most_s
        if elapsed_s >= 0.8 * high:  # longer than the guess reaches: it may last as long again
            low, high = elapsed_s, 2.0 * elapsed_s + 1.0
            survivors = 0.2
        else:
            survivors = math.log(high / low) / math.log(of.most_s / of.least_s)
        self.low, self.log_ratio, self.weight = low, math.log(high / low), weight
        self.guess = GUESSES * survivors / (GUESSES * survivors + weight)
        self._kernels, self._rest = len(self.factors), 1.0 - self.guess

    def whole(self, u: float) -> float:
        """How long a state lasts that begins now; `u` even between 0 and 1. A forecast asks this a thousand times."""
        if u < self.guess:
            return self._guessed(u)
        place = (u - self.guess) / self._rest * self.many  # which was seen; how far past it: which share of the kernel
        k = int(place)
        lasts = self.seen[k % self.many] * self.factors[int((place - k) * KERNELS) % self._kernels]
        return lasts if lasts > LEAST_S else LEAST_S

    def _guessed(self, u: float) -> float:
        return max(LEAST_S, self.low * math.exp(self.log_ratio * u / self.guess) - self.elapsed_s)

    def draw(self, random: Random) -> float:
        u = random.random()
        if not self.weights:
            return self.whole(u)
        if u < self.guess:
            return self._guessed(u)
        share = (u - self.guess) / self._rest
        usual = self.seen[bisect_left(self.weights, share * self.weight) % len(self.seen)]
        for _ in range(TRIES):
            duration = usual * math.exp(self.width * random.gauss(0.0, 1.0))
            if duration > self.elapsed_s:
                return max(LEAST_S, duration - self.elapsed_s)
        return max(LEAST_S, SHORT * self.elapsed_s)


def width(logs: list[float]) -> float:
    """The kernel's width, in the logarithm of time."""
    many = len(logs)
    if not many:
        return GUESSED_SPREAD
    middle = math.fsum(logs) / many
    variance = (GUESSED_SPREAD**2 + math.fsum((log - middle) ** 2 for log in logs)) / many
    return KERNEL * math.sqrt(variance) / float(many**0.2)


class TriggerHabit:
    """One pump's trigger: durations of drawing and of pausing, in the crew's working time."""

    def __init__(self) -> None:
        self.on = Durations(3.0, 600.0)
        self.off = Durations(3.0, 1_200.0)  # longer pauses are the whole crew's rests
        self.drawing = False
        self.since_s = 0.0  # working time at which the present state began
        self.known = False
        self.waited = False

    def note(self, working_s: float, drawing: bool, low: bool) -> None:
        """The trigger's state at a working time. `low`: so little water that a pause tells of no habit."""
        self.waited = self.waited or (low and not drawing)
        if drawing == self.drawing and self.known:
            return
        if self.known:
            lasted = working_s - self.since_s
            if self.drawing:
                self.on.learn(lasted)
            elif not self.waited and lasted > 0.0:  # the pause that a rest took over is no pause of the trigger's own
                self.off.learn(lasted)
        self.drawing, self.since_s, self.known, self.waited = drawing, working_s, True, low and not drawing


class CrewHabit:
    """The whole crew: its triggers, its work and its rests."""

    def __init__(self, pumps: int) -> None:
        self.triggers = [TriggerHabit() for _ in range(pumps)]
        self.work = Durations(60.0, 7_200.0)
        self.rest = Durations(REST_S, 7_200.0)
        self.resting = True
        self.since: float | None = None  # when the present work or rest began; a wait for water is taken out of work
        self.rested_s = 0.0  # all rests so far, so that working time = at - rested
        self.last_drew: float | None = None
        self.forced = False
        self._worked_s = 0.0  # before the wait for water that interrupts it
        self.leaves, self.stays = 1.0, 1.0
        """How often a tap shut while nobody drew meant the end of work, and how often not; one guess each."""
        self.shut = False

    def working_s(self, at: float) -> float:
        return (self.since if self.resting and self.since is not None else at) - self.rested_s

    def note(self, at: float, drawing: tuple[bool, ...], low: bool, shut: bool = False) -> None:
        """Which pumps draw at a tick; `low`: the tank is so low that the crew may be waiting for water; `shut`:
        somebody has shut the tap."""
        if self.since is None:
            self.since = at
        if any(drawing):
            self._drew(at)
        elif not self.resting and self.last_drew is not None and at - self.last_drew >= REST_S:
            self._begin_rest(self.last_drew)
        self.forced = low or (self.forced and not any(drawing))
        self.shut = shut and not any(drawing)
        working = self.working_s(at)
        for trigger, draws in zip(self.triggers, drawing, strict=True):
            trigger.note(working, draws, low)

    @property
    def leaving(self) -> float:
        """How probable it is that the crew is packing up: the tap was shut while nobody drew, and it does so then."""
        return self.leaves / (self.leaves + self.stays) if self.shut and not self.resting else 0.0

    def _drew(self, at: float) -> None:
        if self.shut and not self.resting:
            self.stays += 1.0
        self.last_drew = at
        if self.resting:
            assert self.since is not None
            if not self.forced and self.rested_s > 0.0:
                self.rest.learn(at - self.since)
            self.rested_s += at - self.since
            self.resting, self.since = False, at - self._worked_s

    def _begin_rest(self, at: float) -> None:
        assert self.since is not None
        self.leaves += self.shut
        self._worked_s = at - self.since if self.forced else 0.0
        if not self.forced:
            self.work.learn(at - self.since)
        self.resting, self.since = True, at

    def save(self) -> dict[str, Any]:
        return {
            "on": [t.on.seen for t in self.triggers],
            "off": [t.off.seen for t in self.triggers],
            "work": self.work.seen,
            "rest": self.rest.seen,
            "leaves": [self.leaves, self.stays],
        }

    def restore(self, saved: dict[str, Any]) -> None:
        for trigger, on, off in zip(self.triggers, saved.get("on", []), saved.get("off", []), strict=False):
            trigger.on.remember(on)
            trigger.off.remember(off)
        self.work.remember(saved.get("work", []))
        self.rest.remember(saved.get("rest", []))
        self.leaves, self.stays = saved.get("leaves", (1.0, 1.0))
