"""How many alarms were too many: a list of changes held against the EEMUA 191 yardstick.

Figures from EEMUA Publication 191 and ANSI/ISA-18.2-2016 clause 16, per person who answers alarms: on average about one
in ten minutes is very likely acceptable, about two the most that can be managed; more than ten in ten minutes is a
flood, which is over when fewer than five come in ten minutes. Of the alarms told about 5 % should be of high priority,
15 % medium, 80 % low.

An alarm is told when it becomes `unacknowledged`, anew or again. It stands until its condition is over or it is put
aside. Pure: the changes come from the journal, in order of time.
"""

from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

from monitor.changes import AlarmChange

TEN_MINUTES_S = 600.0
ACCEPTABLE_IN_TEN_MIN = 1.0
MANAGEABLE_IN_TEN_MIN = 2.0
FLOOD_OVER = 10
FLOOD_ENDS_UNDER = 5

Verdict = Literal["acceptable", "manageable", "too many"]


class Stood(NamedTuple):
    """One time that an alarm stood. None: still so at the end."""

    alarm: str
    subject: str
    begun: float
    ended: float | None = None
    acknowledged: float | None = None
    by: str = ""
    told: str = ""
    """What the crew was told."""
    priority: str = ""


class Offender(NamedTuple):
    alarm: str
    subject: str
    told: int
    share: float
    """Of all that was told, 0 to 1."""
    stood_s: float


class Flood(NamedTuple):
    begun: float
    ended: float | None
    told: int


class Report(NamedTuple):
    start: float
    end: float
    told: int
    in_ten_min: float
    """The average."""
    verdict: Verdict
    most_in_ten_min: int
    floods: tuple[Flood, ...]
    by_priority: dict[str, int]
    offenders: tuple[Offender, ...]
    """The worst first."""
    stood: tuple[Stood, ...]
    """In order of their beginning."""


def report(changes: Iterable[AlarmChange], start: float, end: float) -> Report:
    """The alarms from `start` to `end` (Unix seconds). Changes before `start` only tell what stood then.

    Raises ValueError where `end` is not after `start`.
    """
    if not start < end:
        raise ValueError(f"no time between {start} and {end}, so no rate of alarms: give an end after the start")
    before_end = [change for change in changes if change.at < end]
    told = [c for c in before_end if c.state == "unacknowledged" and c.at >= start]
    stood = [one for one in standings(before_end) if one.ended is None or one.ended > start]
    in_ten_min = len(told) / ((end - start) / TEN_MINUTES_S)
    times = [change.at for change in told]
    return Report(
        start, end, len(told), in_ten_min, verdict(in_ten_min), most_in_ten_min(times), tuple(floods(times, end)),
        dict(Counter(change.priority for change in told)), tuple(offenders(told, stood, start, end)), tuple(stood),
    )  # fmt: skip


def verdict(in_ten_min: float) -> Verdict:
    """How an average of so many alarms in ten minutes is to be judged."""
    if in_ten_min <= ACCEPTABLE_IN_TEN_MIN:
        return "acceptable"
    return "manageable" if in_ten_min <= MANAGEABLE_IN_TEN_MIN else "too many"


def most_in_ten_min(times: Iterable[float]) -> int:
    """The most alarms in any ten minutes. `times` rise."""
    window: deque[float] = deque()
    most = 0
    for at in times:
        _slide(window, at)
        window.append(at)
        most = max(most, len(window))
    return most


def floods(times: Sequence[float], end: float) -> list[Flood]:
    """Each flood until `end`: begun by the alarm that was one too many, ended when few enough lie behind.

    A flood that has not ended by `end` has no end.
    """
    found: list[Flood] = []
    window: deque[float] = deque()
    for at in times:
        _end_flood(found, window, at)
        _slide(window, at)
        window.append(at)
        if found and found[-1].ended is None:
            found[-1] = found[-1]._replace(told=found[-1].told + 1)
        elif len(window) > FLOOD_OVER:
            found.append(Flood(at, None, len(window)))
    _end_flood(found, window, end)
    return found


def offenders(told: Sequence[AlarmChange], stood: Iterable[Stood], start: float, end: float) -> list[Offender]:
    """Who called how often, and how long each stood between `start` and `end`; the most frequent first."""
    counts = Counter((change.alarm, change.subject) for change in told)
    spans: defaultdict[tuple[str, str], float] = defaultdict(float)
    for one in stood:
        spans[one.alarm, one.subject] += min(end, one.ended or end) - max(start, one.begun)
    keys = sorted(counts.keys() | spans.keys())
    listed = [Offender(*key, counts[key], counts[key] / max(1, len(told)), spans[key]) for key in keys]
    return sorted(listed, key=lambda one: (-one.told, -one.stood_s))


def standings(changes: Iterable[AlarmChange]) -> list[Stood]:
    """Each time that an alarm stood, who acknowledged it and when; in order of their beginning."""
    found: list[Stood] = []
    standing: dict[tuple[str, str], int] = {}
    for change in changes:
        key = (change.alarm, change.subject)
        place = standing.get(key)
        if place is None:
            if change.state in ("unacknowledged", "acknowledged"):
                standing[key] = len(found)
                found.append(Stood(*key, change.at, told=change.told, priority=change.priority))
        elif change.state == "acknowledged":
            found[place] = found[place]._replace(acknowledged=change.at, by=change.by)
        elif change.state != "unacknowledged":
            found[standing.pop(key)] = found[place]._replace(ended=change.at)
    return found


def _slide(window: deque[float], at: float) -> None:
    while window and window[0] <= at - TEN_MINUTES_S:
        window.popleft()


def _end_flood(found: list[Flood], window: deque[float], at: float) -> None:
    """End the running flood if by `at` fewer alarms than keep it going lie in ten minutes."""
    if found and found[-1].ended is None:
        over = window[-FLOOD_ENDS_UNDER] + TEN_MINUTES_S
        if over < at:  # one that comes just then keeps it going
            found[-1] = found[-1]._replace(ended=over)
