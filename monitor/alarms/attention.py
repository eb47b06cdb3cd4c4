"""What horn and strobe do: a pure function of the time and of the alarms that stand.

One pattern means *let go of the triggers* and is never used for anything else; the rest differ by priority. ISO 7731
asks that danger signals stand out by their rhythm, pulsing between 0.2 and 5 times a second (from memory). The three
even blasts of the evacuation signal (ISO 8201, from memory) are left to buildings. Light stays under three flashes a
second, which could set off a seizure (WCAG 2.2, 2.3.1).
"""

from collections.abc import Iterable
from typing import Literal, NamedTuple

from monitor.alarms.catalogue import ALARMS, AlarmName
from monitor.alarms.lifecycle import State

Call = Literal["release", "high", "medium", "still stands", ""]
"""What is called for; `still stands` is light alone: somebody has seen it, and it is not over."""

RELEASE: frozenset[AlarmName] = frozenset({"dry", "dry-soon", "pump-starved"})
"""The alarms at which every trigger is let go of."""


class Rhythm(NamedTuple):
    """Blasts (seconds on, seconds off), begun anew every `every_s`."""

    blasts: tuple[tuple[float, float], ...]
    every_s: float


RHYTHMS: dict[Call, Rhythm] = {
    "release": Rhythm(((0.25, 0.25),), 0.5),
    "high": Rhythm(((1.5, 0.0),), 15.0),
    "medium": Rhythm(((0.4, 0.4), (0.4, 0.0)), 60.0),
}
FLASHES: dict[Call, Rhythm] = {
    "release": Rhythm(((0.25, 0.25),), 0.5),
    "high": Rhythm(((0.2, 0.0),), 1.5),
    "medium": Rhythm(((0.2, 0.0),), 5.0),
    "still stands": Rhythm(((0.2, 0.0),), 1.5),
}


def call(standing: Iterable[tuple[AlarmName, State]], moving: bool = False) -> Call:
    """The most urgent call; on the road only what says stop."""
    states = list(standing)
    if any(name in RELEASE and state == "unacknowledged" for name, state in states):
        return "release"
    unseen = {ALARMS[name].priority for name, state in states if state == "unacknowledged" and not moving}
    if "critical" in unseen or "high" in unseen:
        return "high"
    if any(ALARMS[name].critical and state == "acknowledged" for name, state in states):
        return "still stands"
    return "medium" if "medium" in unseen else ""


def sounds(since_s: float, of: Call) -> bool:
    """Does the horn blow, so long after the call was made?"""
    return _on(since_s, RHYTHMS.get(of))


def shines(since_s: float, of: Call) -> bool:
    """Does the strobe shine, so long after the call was made?"""
    return _on(since_s, FLASHES.get(of))


def _on(since_s: float, rhythm: Rhythm | None) -> bool:
    if rhythm is None:
        return False
    left_s = since_s % rhythm.every_s
    for on_s, off_s in rhythm.blasts:
        if left_s < on_s:
            return True
        left_s -= on_s + off_s
        if left_s < 0.0:
            return False
    return False
