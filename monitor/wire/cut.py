"""A recording cut down to the minutes that matter, so that it replays well.

A cut begins with what still stood then: the last of each reading, dated back to when it was said, the last word of
each node, the last step of the wall clock, and what people had said that still held. So no total loses its last value,
no node that reports seldom is unknown, and nobody has to pack up twice.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import TypeAlias

from monitor.readings import Act, Alive, Event, Pack, Passing, Record, WallStep

Timed: TypeAlias = tuple[float, Event]
"""An event and what the wall clock said at it, both in Unix seconds."""

FIRST_ABSOLUTE = 2.0**28
"""RFC 8428 section 4.5.3: a stamp of this amount or more is the node's own clock."""
APART_S = 1e-6
HOLD_S = {"filling-past-meter": 600.0, "dumping": 600.0}
"""What people say that holds: for so long, or until they say otherwise."""
HOLD = frozenset({"packing-up", "journal", *HOLD_S})


class Standing:
    """What still stands of all that has been told so far."""

    def __init__(self) -> None:
        self._records: dict[tuple[str, str, bool], dict[str, tuple[float, Record]]] = {}
        self._words: dict[tuple[str, str], Alive] = {}
        self._acts: dict[str, Act] = {}
        self._wall: WallStep | None = None

    def note(self, event: Event) -> None:
        if isinstance(event, Pack):
            records = self._records.setdefault((event.feed, event.node, event.retained), {})
            records.update({record.name: (event.at, record) for record in event.records})
        elif isinstance(event, Alive):
            self._words[event.feed, event.node] = event
        elif isinstance(event, WallStep):
            self._wall = event
        elif isinstance(event, Act):
            self._note_act(event)

    def _note_act(self, act: Act) -> None:
        if act.act == "new-place":
            self._acts.pop("packing-up", None)
        elif act.act in HOLD:
            self._acts[act.act] = act

    def events(self, at: float) -> Iterator[Event]:
        """All of it, as if it were told anew from `at` on, in the order in which it was told first."""
        told = sorted([*self._packs(at), *self._said(at)], key=lambda each: each[0])
        for number, (_, event) in enumerate(told):
            yield event._replace(at=at + number * APART_S)

    def _packs(self, at: float) -> Iterator[tuple[float, Event]]:
        for (feed, node, retained), records in self._records.items():
            dated = tuple(_dated_back(record, said_at - at) for said_at, record in records.values())
            yield max(said_at for said_at, _ in records.values()), Pack(at, feed, node, dated, retained)

    def _said(self, at: float) -> Iterator[tuple[float, Event]]:
        for word in self._words.values():
            yield word.at, word
        for act in self._acts.values():
            if at - act.at < HOLD_S.get(act.act, at):
                yield act.at, act
        if self._wall is not None:
            offset_s = self._wall.wall - self._wall.at
            yield self._wall.at, WallStep(at, at + offset_s)


def _dated_back(record: Record, by_s: float) -> Record:
    """Said `by_s` (negative) before; a stamp of the node's own clock says so itself."""
    return record if record.stamp >= FIRST_ABSOLUTE else record._replace(stamp=record.stamp + by_s)


def by_wall(events: Iterable[Event]) -> Iterator[Timed]:
    """A recording's events, each with its wall time: until the clock is first stepped that is the recording's own."""
    offset_s = 0.0
    for event in events:
        if isinstance(event, WallStep):
            offset_s = event.wall - event.at
        yield event.at + offset_s, event


def cut(
    timed: Iterable[Timed], since: float, until: float, passed: Callable[[Event], object] = lambda event: None
) -> Iterator[Event]:
    """What was told from `since` up to before `until` (wall time, Unix seconds), what stood then before it.

    `passed` is called with each event before, and with the passing of time up to the cut itself.
    """
    standing, began = Standing(), False
    for wall, event in timed:
        if wall >= until:
            yield Passing(event.at - (wall - until))
            return
        if wall < since:
            standing.note(event)
            passed(event)
            continue
        if not began:
            began, at = True, min(event.at, event.at - (wall - since))
            passed(Passing(at))
            yield from standing.events(at)
        yield event

