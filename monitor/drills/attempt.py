"""One attempt at a drill: what was done and what called, in order of time, and the goals held against it.

Times are those of the simulated day, in s. An attempt is never failed: what was good is told first, then what to try
next time.
"""

from collections.abc import Callable
from typing import Any, NamedTuple

Log = list[tuple[float, str]]
"""(when, what): ``alarm:dry-soon`` as it is raised, ``did:got-it``, ``did:release``, ``saw:soap`` and so on."""
Met = bool | None
"""Whether a goal was reached; None while it still may be."""


class Goal(NamedTuple):
    """What a hand should do, and how that is seen: `judge(log, now)`."""

    key: str
    points: int
    judge: Callable[[Log, float], Met]


class Drill(NamedTuple):
    """`hands`: what can be done in it. `solved`: what ends it, once `after_s` more have passed."""

    name: str
    scenario: str
    hands: tuple[str, ...]
    goals: tuple[Goal, ...]
    solved: str
    lasts_s: float = 900.0
    after_s: float = 45.0


def first(log: Log, *whats: str, since: float = 0.0) -> float | None:
    """When one of these first happened, not before a time."""
    return next((at for at, what in log if what in whats and at >= since), None)


def within(what: str, seconds: float, *cause: str) -> Callable[[Log, float], Met]:
    """Done so soon after its cause; what was done before the cause came counts too."""

    def judge(log: Log, now: float) -> Met:
        began = first(log, *cause)
        done = first(log, what)
        if began is None:
            return None if done is None else True
        if done is not None:
            return done - began <= seconds
        return False if now - began > seconds else None

    return judge


def never(what: str) -> Callable[[Log, float], Met]:
    """It never happened: settled only when the drill is over."""
    return lambda log, now: False if first(log, what) is not None else None


class Attempt:
    """A drill that is being tried; `drill` None while the hand has not chosen one."""

    def __init__(self, drill: Drill | None) -> None:
        self.drill = drill
        self.log: Log = []
        self.began: float | None = None
        self.now = 0.0
        self._over_at: float | None = None

    def tick(self, now: float) -> None:
        if self.began is None:
            self.began = now
        self.now = now
        if self.drill is not None and self._over_at is None and self._is_over(self.drill, now - self.began):
            self._over_at = now

    def note(self, at: float, what: str) -> None:
        """Something happened; after the end nothing counts any more."""
        if self._over_at is None:
            self.log.append((at, what))

    @property
    def over(self) -> bool:
        return self._over_at is not None

    def score(self) -> dict[str, Any]:
        """Points, and the goals by how they went: reached, still open, for next time."""
        if self.drill is None:
            return {"points": 0, "of": 0, "goals": []}
        met = {goal.key: self._met(goal) for goal in self.drill.goals}
        goals = [{"key": goal.key, "points": goal.points, "met": met[goal.key]} for goal in self.drill.goals]
        reached = sum(goal.points for goal in self.drill.goals if met[goal.key])
        return {"points": reached, "of": sum(goal.points for goal in self.drill.goals), "goals": goals}

    def standing(self) -> dict[str, Any]:
        drill = self.drill
        return {
            "drill": drill and drill.name, "hands": list(drill.hands) if drill else [], "over": self.over,
            "passed_s": round(self.now - (self.began or self.now), 1), "said": [what for _, what in self.log][-8:],
            "score": self.score(),
        }  # fmt: skip

    def _met(self, goal: Goal) -> Met:
        met = goal.judge(self.log, self.now)
        return goal.key.startswith("never_") if met is None and self.over else met

    def _is_over(self, drill: Drill, passed_s: float) -> bool:
        solved = first(self.log, drill.solved)
        return passed_s > drill.lasts_s or (solved is not None and self.now - solved > drill.after_s)
