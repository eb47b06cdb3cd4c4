"""The crew's habits, learned from what they do: how long a trigger is held, how long it rests, when all pause.

A semi-Markov picture in two storeys. Below, each pump alternates between drawing and pausing, and the durations of both
are remembered as they come. Above, the crew alternates between working and resting (a break, a move): while it rests,
the pumps' own clocks stand still. Nothing about any crew is built in: a handful of log-uniform guesses, broad on
purpose, stand for what has not been seen yet, and fade as durations are learned.
"""

import math
from bisect import bisect_right
from random import Random

REST_S = 180.0  # nobody has drawn for so long: the crew rests
KEPT = 150  # durations remembered; the oldest go first
GUESSES = 1.0  # how many durations the guess weighs as much as
JITTER = 0.12  # a remembered duration is drawn again with this relative spread


class Durations:
    """Durations of one state: those seen, and a broad guess (log-uniform between `least_s` and `most_s`)."""

    def __init__(self, least_s: float, most_s: float) -> None:
        self.least_s, self.most_s = least_s, most_s
        self.seen: list[float] = []

    def learn(self, duration_s: float) -> None:
        self.seen.append(max(0.5, duration_s))
        if len(self.seen) > KEPT:
            del self.seen[0]

    def lasting(self, elapsed_s: float = 0.0) -> "Remaining":
        """What may still come of a state that has lasted `elapsed_s` already."""
        return Remaining(self, elapsed_s)


class Remaining:
    """The remaining duration of a state, given how long it has lasted. Sorted once, drawn from many times."""

    def __init__(self, of: Durations, elapsed_s: float) -> None:
        ordered = sorted(of.seen)
        self.longer = ordered[bisect_right(ordered, elapsed_s) :]
        low, high = max(of.least_s, elapsed_s), of.most_s
        if elapsed_s >= 0.8 * high:  # longer than the guess reaches: it may last as long again
            low, high = elapsed_s, 2.0 * elapsed_s + 1.0
            survivors = 0.2
        else:
            survivors = math.log(high / low) / math.log(of.most_s / of.least_s)
        self.elapsed_s, self.low, self.ratio = elapsed_s, low, high / low
        self.guess = GUESSES * survivors / (GUESSES * survivors + len(self.longer))

    def draw(self, random: Random) -> float:
        u, guess, elapsed_s = random.random(), self.guess, self.elapsed_s
        if u < guess:
            left_s: float = self.low * self.ratio ** (u / guess) - elapsed_s
        else:
            longer = self.longer
            many = len(longer)
            duration = longer[int((u - guess) / (1.0 - guess) * many) % many]
            left_s = duration * (1.0 + JITTER * (2.0 * random.random() - 1.0)) - elapsed_s
        return left_s if left_s > 0.2 else 0.2


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
        self.work = Durations(300.0, 14_400.0)
        self.rest = Durations(REST_S, 7_200.0)
        self.resting = True
        self.since: float | None = None  # when the present work or rest began
        self.rested_s = 0.0  # all rests so far, so that working time = at - rested
        self.last_drew: float | None = None
        self.forced = False

    def working_s(self, at: float) -> float:
        return (self.since if self.resting and self.since is not None else at) - self.rested_s

    def note(self, at: float, drawing: tuple[bool, ...], low: bool) -> None:
        """Which pumps draw at a tick; `low`: the tank is so low that the crew may be waiting for water."""
        if self.since is None:
            self.since = at
        if any(drawing):
            self._drew(at)
        elif not self.resting and self.last_drew is not None and at - self.last_drew >= REST_S:
            self._begin_rest(self.last_drew)
        self.forced = low or (self.forced and not any(drawing))
        working = self.working_s(at)
        for trigger, draws in zip(self.triggers, drawing, strict=True):
            trigger.note(working, draws, low)

    def _drew(self, at: float) -> None:
        self.last_drew = at
        if self.resting:
            assert self.since is not None
            if not self.forced and self.rested_s > 0.0:
                self.rest.learn(at - self.since)
            self.rested_s += at - self.since
            self.resting, self.since = False, at

    def _begin_rest(self, at: float) -> None:
        assert self.since is not None
        if not self.forced:
            self.work.learn(at - self.since)
        self.resting, self.since = True, at

    def save(self) -> dict[str, object]:
        return {
            "on": [t.on.seen for t in self.triggers],
            "off": [t.off.seen for t in self.triggers],
            "work": self.work.seen,
            "rest": self.rest.seen,
        }

    def restore(self, saved: dict[str, list[float]] | dict[str, object]) -> None:
        ons, offs = saved.get("on", []), saved.get("off", [])
        for trigger, on, off in zip(self.triggers, ons, offs, strict=False):  # type: ignore[call-overload]
            trigger.on.seen, trigger.off.seen = list(on)[-KEPT:], list(off)[-KEPT:]
        self.work.seen = list(saved.get("work", []))[-KEPT:]  # type: ignore[call-overload]
        self.rest.seen = list(saved.get("rest", []))[-KEPT:]  # type: ignore[call-overload]
