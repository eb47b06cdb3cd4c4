"""All alarms together: conditions in, changes out, what stands, and one alarm for one cause.

An instance is an alarm and its subject (a pump, a signal, a node, or "" for the rig). Each change of each instance is
one AlarmChange with that subject. Those who know an alarm by its name alone (the lines of a replay, one retained
topic a name) are served by ``by_name.py``.

A follower is an instance that stands while its cause stands in the open (neither shelved, suppressed nor out of
service). Its state is then `suppressed by design`; it is released when the cause clears or is put aside.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from monitor.alarms.catalogue import ALARMS, PRIORITIES, AlarmName, Mode
from monitor.alarms.instance import UNKNOWN, Condition, Instance, Key
from monitor.alarms.lifecycle import Life, State
from monitor.alarms.refusals import Language, Refused
from monitor.alarms.words import told
from monitor.changes import AlarmChange

__all__ = ["UNKNOWN", "Board", "Condition", "Key"]

_DEMANDING: tuple[State, ...] = (
    "unacknowledged", "acknowledged", "returned to normal unacknowledged", "shelved", "suppressed by design",
    "out of service", "normal",
)  # fmt: skip
_RANK = {name: (PRIORITIES.index(alarm.priority), place) for place, (name, alarm) in enumerate(ALARMS.items())}


class Board:
    """Every alarm instance of the rig. Pure: time is an argument and never falls; acts return what they changed."""

    def __init__(self, language: Language = "en") -> None:
        self.language = language
        self._instances: dict[Key, Instance] = {}
        self._of: dict[str, list[Instance]] = {}
        """The same by the alarm's name."""
        self._modes: frozenset[Mode] = frozenset()

    def __repr__(self) -> str:
        standing = ", ".join(f"{one['alarm']} {one['state']}" for one in self.standing())
        return f"<Board of {len(self._instances)}: {standing or 'all normal'}>"

    def update(
        self, at: float, conditions: Mapping[Key, Condition], modes: frozenset[Mode] = frozenset()
    ) -> list[AlarmChange]:
        """Take in what all rules say and which modes the rig is in; what is left out of `conditions` is unknown.

        A new key makes a new instance. One whose subject has left the rig file goes on standing until its condition
        is said to be false: see `subjects`.
        """
        new = conditions.keys() - self._instances.keys()
        for alarm, subject in sorted(new):
            self._watch(Instance(ALARMS[alarm], subject))
        for key, instance in self._instances.items():
            instance.see(at, conditions.get(key, UNKNOWN))
        if new or modes != self._modes:
            self._modes = modes
            self._suppress(at)
        return self._settle(at)

    def acknowledge(self, at: float, alarm: str, subject: str | None = None, by: str = "") -> list[AlarmChange]:
        """Acknowledge an alarm, for one subject or for all. Raises Refused for a name that isn't watched."""
        return self._act(at, alarm, subject, by, lambda life: life.acknowledge(at))

    def shelve(
        self, at: float, alarm: str, for_s: float, subject: str | None = None, by: str = ""
    ) -> list[AlarmChange]:
        """Shelve for `for_s` seconds. Raises Refused: critical, no end, too long, a name that isn't watched."""
        return self._act(at, alarm, subject, by, lambda life: life.shelve(at, for_s))

    def unshelve(self, at: float, alarm: str, subject: str | None = None, by: str = "") -> list[AlarmChange]:
        """End a shelving before its time. Raises Refused for a name that isn't watched."""
        return self._act(at, alarm, subject, by, lambda life: life.unshelve(at))

    def take_out_of_service(
        self, at: float, alarm: str, out: bool = True, subject: str | None = None, by: str = ""
    ) -> list[AlarmChange]:
        """The owner's act, out or back in. Raises Refused: critical, a name that isn't watched."""
        return self._act(at, alarm, subject, by, lambda life: life.take_out_of_service(at, out))

    def subjects(self) -> list[Key]:
        """Every alarm and subject that is watched."""
        return list(self._instances)

    def states(self) -> list[tuple[AlarmName, State]]:
        """The state of every alarm and subject, by the alarm's name."""
        return [(one.alarm.name, one.life.state) for one in self._instances.values()]

    def state_of(self, alarm: str, subject: str | None = None) -> State:
        """The state of one instance, or with no subject the most demanding one among all of that name."""
        return most_demanding([one.life.state for one in self._named(alarm) if subject in (None, one.subject)])

    def standing(self) -> list[dict[str, Any]]:
        """All that is not normal, by priority, then age: oldest first, so that nothing moves under a finger.

        `under` names the cause of a follower, `variant` the variant of words; `shelve_max_s` is 0 where shelving is
        refused; `time_s` is the time to respond, null once the condition is over.
        """
        shown = [one for one in self._instances.values() if one.life.state != "normal"]
        shown.sort(key=lambda one: (_RANK[one.alarm.name][0], one.life.since or 0.0, _RANK[one.alarm.name][1]))
        causes = [self._cause(one) if one.life.folded else None for one in shown]
        followers = {
            id(one): {other.alarm.name for other, cause in zip(shown, causes, strict=True) if cause is one}
            for one in shown
        }
        return [_entry(one, cause, followers[id(one)]) for one, cause in zip(shown, causes, strict=True)]

    def save(self) -> dict[str, Any]:
        """All of it as plain values, for a state file; `restored` makes the same board of it."""
        return {"modes": sorted(self._modes), "alarms": [one.save() for one in self._instances.values()]}

    @classmethod
    def restored(cls, saved: Mapping[str, Any], language: Language = "en") -> "Board":
        """The board as it was saved; alarms this version doesn't know are left out. After a restart `resume` is next.

        Raises KeyError or TypeError for what `save` never wrote.
        """
        board = cls(language)
        board._modes = frozenset(saved["modes"])
        for one in saved["alarms"]:
            if one["alarm"] in ALARMS:
                board._watch(Instance.restored(one))
        return board

    def resume(self, at: float) -> list[AlarmChange]:
        """Go on after a time in which nothing was seen, perhaps on a clock that has fallen since."""
        for instance in self._instances.values():
            instance.life.resume(at)
        return self._settle(at)

    def _act(
        self, at: float, alarm: str, subject: str | None, by: str, act: Callable[[Life], None]
    ) -> list[AlarmChange]:
        named = self._named(alarm)
        if not named:
            raise Refused("no such alarm", alarm)
        chosen = [one for one in named if subject in (None, one.subject)]
        if not chosen:
            raise Refused("no such subject", alarm, subject or "")
        for instance in chosen:
            act(instance.life)
        return self._settle(at, chosen, by)

    def _suppress(self, at: float) -> None:
        for instance in self._instances.values():
            if instance.alarm.quiet_when:
                instance.life.suppress(at, not instance.alarm.quiet_when.isdisjoint(self._modes))

    def _settle(self, at: float, acted: Iterable[Instance] = (), by: str = "") -> list[AlarmChange]:
        """List followers under their causes, and say what has changed since the last time."""
        for one in self._instances.values():
            if one.alarm.follows and (one.life.active or one.life.folded):
                open_ = one.life.active and not one.life.put_aside
                one.life.fold(at, open_ and self._cause(one) is not None)
        changed = [one for one in self._instances.values() if one.life.state != one.announced]
        changed.sort(key=lambda one: _RANK[one.alarm.name])
        return [self._announce(at, one, by if one in acted else "") for one in changed]

    def _announce(self, at: float, one: Instance, by: str) -> AlarmChange:
        one.announced = one.life.state
        words = told(one.alarm.name, self.language, one.said.variant) if one.announced == "unacknowledged" else ""
        values = None if one.said.values is None else dict(one.said.values)
        return AlarmChange(at, one.alarm.name, one.alarm.priority, one.announced, one.subject, by, words, values)

    def _cause(self, one: Instance) -> Instance | None:
        """The standing alarm that `one` is to be listed under: the first cause of its causes."""
        for how in one.alarm.follows:
            for cause in self._named(how.cause):
                if one.may_follow(cause, how):
                    return self._cause(cause) or cause
        return None

    def _watch(self, one: Instance) -> None:
        self._instances[one.alarm.name, one.subject] = one
        self._of.setdefault(one.alarm.name, []).append(one)

    def _named(self, alarm: str) -> Sequence[Instance]:
        return self._of.get(alarm, ())


def most_demanding(states: Iterable[State]) -> State:
    """The state of several instances as a whole."""
    return min(states, key=_DEMANDING.index, default="normal")


def _entry(one: Instance, cause: Instance | None, followers: Iterable[AlarmName]) -> dict[str, Any]:
    return {
        "alarm": one.alarm.name,
        "priority": one.alarm.priority,
        "state": one.life.state,
        "since": one.life.since,
        "pump": one.pump or None,
        "signal": one.signal or None,
        "node": one.node or None,
        "followers": sorted(followers, key=_RANK.__getitem__),
        "time_s": one.respond_s,
        "variant": one.said.variant or None,
        "under": cause.alarm.name if cause else None,
        "shelved_until": one.life.shelved_until,
        "shelve_max_s": one.alarm.shelve_max_s,
    }
