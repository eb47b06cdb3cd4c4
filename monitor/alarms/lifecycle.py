"""The life of one alarm instance: the states of ANSI/ISA-18.2-2016 / IEC 62682, to the letter.

Two things are always known of an instance: does it stand (is it active, delays taken in), and has somebody
acknowledged that. Over these lie the ways to put it aside: shelved (a person, with an end), suppressed by design (the
rig's own mode, or a standing alarm that is its cause), out of service (the owner). What is put aside goes on being
judged underneath. A critical alarm can't be put aside at all.

An unknown condition holds what stands: it raises nothing by itself, and it never clears anything. Only seconds in
which a condition is known to persist count towards a delay; for the off-delay they must follow each other unbroken.
"""

import math
from dataclasses import dataclass, fields
from typing import Any, Literal

from monitor.alarms.catalogue import Alarm
from monitor.alarms.refusals import Refused

State = Literal[
    "normal", "unacknowledged", "acknowledged", "returned to normal unacknowledged",
    "shelved", "suppressed by design", "out of service",
]  # fmt: skip


@dataclass(slots=True)
class _Facts:
    """All that is remembered of an instance: plain values, so that it can be saved as it stands."""

    active: bool = False
    acknowledged: bool = True
    shelved_until: float | None = None
    suppressed: bool = False
    folded: bool = False
    out_of_service: bool = False
    since: float | None = None
    turning_s: float = 0.0
    """How long the condition has been seen to say the opposite of what stands."""
    turning_at: float | None = None
    """When it last said so, if that was the last thing it said."""

    @property
    def put_aside(self) -> bool:
        """By a person or the rig's mode, not by a cause."""
        return self.out_of_service or self.suppressed or self.shelved_until is not None

    @property
    def hidden(self) -> bool:
        return self.folded or self.put_aside


_NAMES = tuple(field.name for field in fields(_Facts))


class Life:
    """One alarm and its subject. Every act takes the time and returns nothing: compare `state` before and after."""

    __slots__ = ("_facts", "alarm")

    def __init__(self, alarm: Alarm) -> None:
        self.alarm = alarm
        self._facts = _Facts()

    def __repr__(self) -> str:
        return f"<Life {self.alarm.name}: {self.state}, since {self.since}>"

    @property
    def state(self) -> State:
        facts = self._facts
        if facts.out_of_service:
            return "out of service"
        if facts.suppressed or facts.folded:
            return "suppressed by design"
        if facts.shelved_until is not None:
            return "shelved"
        if facts.active:
            return "acknowledged" if facts.acknowledged else "unacknowledged"
        return "normal" if facts.acknowledged else "returned to normal unacknowledged"

    @property
    def active(self) -> bool:
        """Does it stand, whatever has been done to put it aside?"""
        return self._facts.active

    @property
    def folded(self) -> bool:
        """Is it listed under a standing alarm that is its cause?"""
        return self._facts.folded

    @property
    def put_aside(self) -> bool:
        """Is it shelved, out of service, or suppressed by the rig's mode?"""
        return self._facts.put_aside

    @property
    def shelved_until(self) -> float | None:
        return self._facts.shelved_until

    @property
    def since(self) -> float | None:
        """When the present state began; acknowledging an alarm doesn't make it younger."""
        return self._facts.since

    def see(self, at: float, holds: bool | None) -> None:
        """Take in what the condition says now: true, false, or None for unknown. Ends a shelving that has run out."""
        facts = self._facts
        if facts.shelved_until is not None and at >= facts.shelved_until:
            self.unshelve(at)
        if holds is None or holds == facts.active:
            if holds is not None or facts.active:
                facts.turning_s = 0.0
            facts.turning_at = None
            return
        if facts.turning_at is not None:
            facts.turning_s += at - facts.turning_at
        facts.turning_at = at
        if facts.turning_s >= (self.alarm.off_delay_s if facts.active else self.alarm.on_delay_s):
            self._turn(at, holds)

    def acknowledge(self, at: float) -> None:
        """Somebody has seen it. Means nothing where there is nothing to acknowledge, or where it is put aside."""
        if not self._facts.hidden:
            self._set(at, acknowledged=True)

    def shelve(self, at: float, for_s: float) -> None:
        """Put it aside for a while; again to change the end. Raises Refused: critical, without an end, or too long."""
        self._refuse_critical()
        if not 0.0 < for_s < math.inf:
            raise Refused("no end", self.alarm.name)
        if for_s > self.alarm.shelve_max_s:
            raise Refused("too long", self.alarm.name, asked_s=for_s, most_s=self.alarm.shelve_max_s)
        self._set(at, shelved_until=at + for_s)

    def unshelve(self, at: float) -> None:
        """End a shelving before its time. Means nothing where there is none."""
        if self._facts.shelved_until is None:
            return
        self._set(at, shelved_until=None)
        self._tell_anew(at)

    def suppress(self, at: float, on: bool) -> None:
        """Suppress by design, or end it. Raises Refused for a critical alarm."""
        if on == self._facts.suppressed:
            return
        self._refuse_critical()
        self._set(at, suppressed=on)
        self._tell_anew(at)

    def fold(self, at: float, on: bool) -> None:
        """Suppress by design as a follower of a standing alarm, or release it. Raises Refused for a critical alarm.

        Unlike the other ways back, a release doesn't ask again for what was acknowledged before and stood all along.
        """
        if on == self._facts.folded:
            return
        self._refuse_critical()
        self._set(at, folded=on)

    def take_out_of_service(self, at: float, out: bool) -> None:
        """The owner's act, out or back in. Raises Refused for a critical alarm."""
        if out == self._facts.out_of_service:
            return
        self._refuse_critical()
        self._set(at, out_of_service=out)
        self._tell_anew(at)

    def resume(self, at: float) -> None:
        """Go on after a time in which nothing was seen (a restart), perhaps on a clock that has fallen since.

        Delays begin anew. A shelving that reaches further than it may from now on ends.
        """
        facts = self._facts
        facts.turning_s, facts.turning_at = 0.0, None
        if facts.since is not None:
            facts.since = min(facts.since, at)
        if facts.shelved_until is not None and not 0.0 < facts.shelved_until - at <= self.alarm.shelve_max_s:
            self.unshelve(at)

    def save(self) -> dict[str, Any]:
        return {name: getattr(self._facts, name) for name in _NAMES}  # asdict would copy each value deeply

    @classmethod
    def restored(cls, alarm: Alarm, saved: dict[str, Any]) -> "Life":
        """The instance as it was saved. One that is critical by now comes back in the open, whatever was saved."""
        life = cls(alarm)
        life._facts = facts = _Facts(**{key: value for key, value in saved.items() if key in _NAMES})
        if alarm.critical and facts.hidden:
            facts.shelved_until = None
            facts.suppressed = facts.folded = facts.out_of_service = False
            facts.acknowledged = not facts.active
        return life

    def _turn(self, at: float, active: bool) -> None:
        """Begin to stand, or cease to; what ceases while put aside needs no acknowledgement."""
        facts = self._facts
        acknowledged = not active and (facts.acknowledged or facts.hidden)
        self._set(at, active=active, acknowledged=acknowledged, turning_s=0.0, turning_at=None)

    def _tell_anew(self, at: float) -> None:
        """What comes back into the open is unacknowledged if it stands, and normal if it doesn't (ISA-18.2)."""
        self._set(at, acknowledged=not self._facts.active)

    def _set(self, at: float, **changed: Any) -> None:
        before = self.state
        for name, value in changed.items():
            setattr(self._facts, name, value)
        if self.state != before and (before, self.state) != ("unacknowledged", "acknowledged"):
            self._facts.since = at

    def _refuse_critical(self) -> None:
        if self.alarm.critical:
            raise Refused("critical", self.alarm.name)
