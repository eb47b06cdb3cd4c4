"""One alarm and its subject: its life, and what its rule last said of it."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from monitor.alarms.catalogue import ALARMS, Alarm, AlarmName, Follows
from monitor.alarms.lifecycle import Life, State

Key = tuple[AlarmName, str]
"""An alarm and its subject: a pump, signal or node by name, or "" for the rig as a whole."""


class Condition(NamedTuple):
    """What a rule says of one alarm and subject now."""

    holds: bool | None
    """True, false, or None: unknown, which holds what stands."""
    values: Mapping[str, Any] | None = None
    """The figures it was judged from, for the record; SI, unit in the key."""
    variant: str = ""
    """Which of the alarm's variants of words fits; "" for the general ones."""
    node: str = ""
    """The node whose readings it was judged from: it may follow that node's loss."""
    time_s: float | None = None
    """The time there is to respond; None for the catalogue's."""


UNKNOWN = Condition(None)


class Instance:
    __slots__ = ("alarm", "announced", "life", "said", "subject")

    def __init__(self, alarm: Alarm, subject: str) -> None:
        self.alarm = alarm
        self.subject = subject
        self.life = Life(alarm)
        self.said = UNKNOWN
        """The condition that raised it, with the newest figures."""
        self.announced: State = "normal"
        """The state that was last handed out as a change."""

    def __repr__(self) -> str:
        return f"<Instance {self.subject!r} of {self.life!r}>"

    @property
    def pump(self) -> str:
        return self.subject if self.alarm.kind == "pump" else ""

    @property
    def signal(self) -> str:
        return self.subject if self.alarm.kind == "signal" else ""

    @property
    def node(self) -> str:
        return self.subject if self.alarm.kind == "node" else self.said.node

    @property
    def respond_s(self) -> float | None:
        """The time there is to respond; None once the condition is over."""
        if not self.life.active:
            return None
        return self.alarm.respond_s if self.said.time_s is None else self.said.time_s

    def see(self, at: float, condition: Condition) -> None:
        """Take in what the rule says now. Words and node stay those it was raised with; figures are the newest."""
        if condition.holds:
            self.said = condition
        elif condition.values is not None:
            self.said = self.said._replace(values=condition.values)
        self.life.see(at, condition.holds)

    def may_follow(self, cause: "Instance", how: Follows) -> bool:
        """Does `cause` stand in the open, and is it this one's cause in the way the catalogue says?"""
        if not cause.life.active or cause.life.put_aside:
            return False
        if how.variants and self.said.variant not in how.variants:
            return False
        if how.same == "node":
            return self.node != "" and self.node == cause.node
        return how.same != "pump" or self.pump == cause.pump or "" in (self.pump, cause.pump)

    def save(self) -> dict[str, Any]:
        values = None if self.said.values is None else dict(self.said.values)
        return {
            "alarm": self.alarm.name,
            "subject": self.subject,
            "announced": self.announced,
            "said": self.said._replace(values=values)._asdict(),
            "life": self.life.save(),
        }

    @classmethod
    def restored(cls, saved: Mapping[str, Any]) -> "Instance":
        instance = cls(ALARMS[saved["alarm"]], saved["subject"])
        instance.life = Life.restored(instance.alarm, saved["life"])
        instance.said = Condition(**saved["said"])
        instance.announced = saved["announced"]
        return instance
