"""The people: one gun hand to a pump, and the foreman whose day has work, breaks, moves and waits for water."""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import exp, inf
from random import Random
from typing import NamedTuple

from simulated_feeds.habits import Habits
from simulated_feeds.place import PhaseName, Place
from simulated_feeds.pumps import Pump


class Phase(NamedTuple):
    name: PhaseName
    time_s: float


class GunHand:
    """Holds one trigger: bursts and pauses within a task, then away from the gun, then the next task."""

    def __init__(self, pump: Pump, habits: Habits, rng: Random, idles_s: float = 60.0, joins_s: float = 0.0,
                 soaps: float = 0.0) -> None:
        self.pump = pump
        self.habits = habits
        self.joins_s = joins_s
        self.next_at = inf
        self._rng = rng
        self._idles_s = idles_s
        self._soaps = soaps
        self._working = False
        self._left_on = False
        self._task_until = 0.0
        self._task_since_s = 0.0
        self._since_s = 0.0
        self._lasts: Callable[[Random], float] | None = None
        self._toggle_at = inf
        self._engine_off_at = inf

    def begin(self, at_s: float, soon: bool = False) -> None:
        """Work begins; nobody picks up the gun in the same second as the others."""
        self._working = True
        if self._left_on or self.pump.by_hand:
            return
        self._lasts = None
        delay = self._rng.uniform(3, 20) if soon else self._rng.uniform(5, 60) + max(self.joins_s - at_s, 0.0)
        self._plan(at_s + delay, self._engine_off_at)

    def stop(self, at_s: float) -> None:
        """Work stops: the trigger shuts at once, the engine after a moment."""
        self._working = False
        if self._left_on or self.pump.by_hand:
            return
        self.pump.trigger = False
        self._plan(inf, at_s + self._rng.uniform(2, 15) if self.pump.engine else inf)

    def take_away(self) -> None:
        """Somebody else holds the gun from now on."""
        self.pump.by_hand = True
        self._plan(inf, inf)

    def act(self, at_s: float) -> None:
        if at_s >= self._engine_off_at:
            self.pump.engine = False
            self._plan(self._toggle_at, inf)
        if at_s >= self._toggle_at:
            self._toggle(at_s)

    def leaves_engine_on(self, at_s: float, on: bool) -> None:
        """Walks off with the engine running and the trigger shut, or comes back."""
        self._left_on = on
        self.pump.engine = on
        self.pump.trigger = False
        self._plan(inf, inf)
        if not on and self._working:
            self.begin(at_s)

    def forget(self, at_s: float) -> None:
        """What the hand will do is open again, given how long the present burst, pause or absence has lasted."""
        rng = self._rng
        if self._lasts is not None and self._toggle_at < inf:
            left_s = longer_than(at_s - self._since_s, self._lasts, rng)
            self._plan(at_s + left_s, self._engine_off_at)
        if self.pump.engine and at_s < self._task_until:
            self._task_until = at_s + longer_than(at_s - self._task_since_s, self.habits.task_s, rng)

    def _toggle(self, at_s: float) -> None:
        pump, rng = self.pump, self._rng
        if pump.trigger:
            self._release(at_s)
        elif not pump.engine:
            pump.engine = True
            pump.speed = rng.gauss(1.0, 0.008)
            self._start_task(at_s)
        elif at_s >= self._task_until:
            self._start_task(at_s)
        else:
            pump.trigger = True
            self._enter(at_s, self.habits.burst_s, inf)

    def _start_task(self, at_s: float) -> None:
        self.pump.soaping = self._rng.random() < self._soaps
        self._task_since_s = at_s
        self._task_until = at_s + self.habits.task_s(self._rng)
        self._lasts = None
        self._plan(at_s + self._rng.uniform(2, 6), inf)

    def _release(self, at_s: float) -> None:
        """Lets go: for a pause within the task, or to walk off; the engine is not left idling for ever."""
        self.pump.trigger = False
        rests = self.habits.pause_s if at_s < self._task_until else self.habits.away_s
        self._enter(at_s, rests, at_s + self._idles_s * self._rng.uniform(0.3, 1.5))

    def _enter(self, at_s: float, lasts: Callable[[Random], float], engine_off_at: float) -> None:
        """Begins a burst, a pause or an absence; the engine stops only if it outlasts the hand's patience."""
        self._since_s, self._lasts = at_s, lasts
        toggle_at = at_s + lasts(self._rng)
        self._plan(toggle_at, engine_off_at if engine_off_at < toggle_at else inf)

    def _plan(self, toggle_at: float, engine_off_at: float) -> None:
        self._toggle_at = _tenth(toggle_at)
        self._engine_off_at = _tenth(engine_off_at)
        self.next_at = min(self._toggle_at, self._engine_off_at)


def longer_than(so_far_s: float, lasts: Callable[[Random], float], rng: Random) -> float:
    """What is left of something that has lasted so long already, of the times it usually lasts."""
    for _ in range(200):
        whole_s = lasts(rng)
        if whole_s > so_far_s:
            return whole_s - so_far_s
    return rng.uniform(0.0, max(lasts(rng), 1.0))


def _tenth(at_s: float) -> float:
    return at_s if at_s == inf else round(at_s, 1)


@dataclass
class Ways:
    """What the foreman does about water. Volumes in l; `looks_at_l` is where he stops the work on sight, if ever."""

    resumes_at_l: float
    looks_at_l: float | None = None
    notices_s: float = 30.0
    waits_at_most_s: float = 3600.0
    reacts_s: float | None = None
    """How long after a warning he stops the work; None: nobody reacts to warnings."""
    spread: float = 0.0
    """How far the times of the plan vary, log-normally."""
    plan: list[Phase] = field(default_factory=list)


class Foreman:
    """Keeps the plan of the day, and breaks it off to wait for water when the pumps draw air."""

    def __init__(self, ways: Ways, hands: list[GunHand], place: Place, rng: Random) -> None:
        self.ways = ways
        self.hands = hands
        self.place = place
        self.phase: PhaseName = "setup"
        self.next_at = 0.0
        self._rng = rng
        self.left = list(ways.plan)
        self._ends_at = 0.0
        self._left_s = 0.0
        self._began_s = 0.0
        self._worked_s = 0.0
        self._thirsty = False

    @property
    def falls_to_l(self) -> float | None:
        """The volume whose passing downwards the foreman would act upon."""
        return self.ways.looks_at_l if self.phase == "work" and not self._thirsty else None

    @property
    def rises_to_l(self) -> float | None:
        return self.ways.resumes_at_l if self.phase == "wait" else None

    def water_gone(self, at_s: float, after_s: float | None = None) -> None:
        """The pumps draw air, or the sight tube shows too little: somebody notices after a while."""
        if self.phase != "work" or self._thirsty:
            return
        self._thirsty = True
        delay = self._rng.expovariate(1 / self.ways.notices_s) + 4.0 if after_s is None else after_s
        self.next_at = min(self.next_at, _tenth(at_s + delay))

    def water_back(self, at_s: float) -> None:
        if self.phase == "wait":
            self.next_at = _tenth(at_s + self._rng.uniform(5, 60))

    def warned(self, at_s: float) -> None:
        """The rig gives warning; most crews of these stories do nothing about it."""
        if self.ways.reacts_s is not None:
            self.water_gone(at_s, self.ways.reacts_s)

    def act(self, at_s: float) -> None:
        if self.phase == "work" and self._thirsty and at_s < self._ends_at:
            self._left_s = self._ends_at - at_s
            self._worked_s += at_s - self._began_s
            self._begin(Phase("wait", self.ways.waits_at_most_s), at_s)
        elif self.phase == "wait":
            self._begin(Phase("work", self._left_s), at_s)
        else:
            self._worked_s = 0.0
            self._begin(self._next_phase(), at_s)

    def forget(self, at_s: float) -> None:
        """When the present phase ends is open again, given how long it has lasted.

        How long such phases last on this crew's day is its habit. Which of those lengths comes now is its future, even
        where the plan is kept to the second.
        """
        usual = [phase.time_s for phase in self.ways.plan if phase.name == self.phase]
        if usual and not self._thirsty:
            so_far_s = self._worked_s + at_s - self._began_s
            left_s = longer_than(so_far_s, lambda rng: self._varied_s(rng.choice(usual), rng), self._rng)
            self._ends_at = self.next_at = at_s + left_s

    def _next_phase(self) -> Phase:
        if not self.left:
            return Phase("done", inf)
        name, usual_s = self.left.pop(0)
        return Phase(name, self._varied_s(usual_s, self._rng))

    def _varied_s(self, usual_s: float, rng: Random) -> float:
        return usual_s * exp(rng.gauss(0.0, self.ways.spread)) if self.ways.spread else usual_s

    def _begin(self, phase: Phase, at_s: float) -> None:
        was, self.phase = self.phase, phase.name
        self.place.phase_begins(phase.name)
        self._thirsty = False
        self._began_s = at_s
        self._ends_at = self.next_at = _tenth(at_s + phase.time_s)
        for hand in self.hands:
            if phase.name == "work":
                hand.begin(at_s, soon=was == "wait")
            else:
                hand.stop(at_s)
