"""The people: one gun hand to a pump, and the foreman whose day has work, breaks, moves and waits for water."""

from dataclasses import dataclass, field
from math import inf
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
        self._task_until = 0.0
        self._toggle_at = inf
        self._engine_off_at = inf

    def begin(self, at_s: float, soon: bool = False) -> None:
        """Work begins; nobody picks up the gun in the same second as the others."""
        self._working = True
        delay = self._rng.uniform(3, 20) if soon else self._rng.uniform(5, 60) + max(self.joins_s - at_s, 0.0)
        self._plan(at_s + delay, self._engine_off_at)

    def stop(self, at_s: float) -> None:
        """Work stops: the trigger shuts at once, the engine after a moment."""
        self._working = False
        self.pump.trigger = self.pump.trigger and self.pump.by_hand
        self._plan(inf, at_s + self._rng.uniform(2, 15) if self.pump.engine else inf)

    def act(self, at_s: float) -> None:
        if self.pump.by_hand:
            self.next_at = inf
            return
        if at_s >= self._engine_off_at:
            self.pump.engine = False
            self._plan(self._toggle_at, inf)
        if at_s >= self._toggle_at:
            self._toggle(at_s)

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
            self._plan(at_s + self.habits.burst_s(rng), inf)

    def _start_task(self, at_s: float) -> None:
        self.pump.soaping = self._rng.random() < self._soaps
        self._task_until = at_s + self.habits.task_s(self._rng)
        self._plan(at_s + self._rng.uniform(2, 6), inf)

    def _release(self, at_s: float) -> None:
        self.pump.trigger = False
        if at_s < self._task_until:
            self._plan(at_s + self.habits.pause_s(self._rng), inf)
            return
        away_s = self.habits.away_s(self._rng)
        idles_s = self._idles_s * self._rng.uniform(0.3, 1.5)
        self._plan(at_s + away_s, at_s + idles_s if idles_s < away_s else inf)

    def _plan(self, toggle_at: float, engine_off_at: float) -> None:
        self._toggle_at = _tenth(toggle_at)
        self._engine_off_at = _tenth(engine_off_at)
        self.next_at = min(self._toggle_at, self._engine_off_at)


def _tenth(at_s: float) -> float:
    return at_s if at_s == inf else round(at_s, 1)


@dataclass
class Ways:
    """What the foreman does about water. Volumes in l; `looks_at_l` is where he stops the work on sight, if ever."""

    resumes_at_l: float
    looks_at_l: float | None = None
    notices_s: float = 30.0
    waits_at_most_s: float = 3600.0
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
        self._plan = list(ways.plan)
        self._ends_at = 0.0
        self._left_s = 0.0
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

    def act(self, at_s: float) -> None:
        if self.phase == "work" and self._thirsty and at_s < self._ends_at:
            self._left_s = self._ends_at - at_s
            self._begin(Phase("wait", self.ways.waits_at_most_s), at_s)
        elif self.phase == "wait":
            self._begin(Phase("work", self._left_s), at_s)
        else:
            self._begin(self._plan.pop(0) if self._plan else Phase("done", inf), at_s)

    def _begin(self, phase: Phase, at_s: float) -> None:
        was, self.phase = self.phase, phase.name
        self.place.phase_begins(phase.name)
        self._thirsty = False
        self._ends_at = self.next_at = _tenth(at_s + phase.time_s)
        for hand in self.hands:
            if phase.name == "work":
                hand.begin(at_s, soon=was == "wait")
            else:
                hand.stop(at_s)
