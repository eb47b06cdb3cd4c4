"""What reaches the core: one record type and a handful of events, all plain tuples.

Every event carries ``at``, the time of its arrival on the daemon's own time line (Unix seconds: wall time at the
daemon's start plus monotonic time since; never falling). Nothing in here knows a clock, a wire or a file.
"""

from typing import Any, Literal, NamedTuple, TypeAlias

Unit = Literal["m", "Pa", "A", "l", "l/min", "count", "Hz", "Cel", "s", "%RH", "bool", ""]


class Record(NamedTuple):
    """One value as a node sent it, in the unit the rest of the program computes in.

    The wire decoder has already turned m³ to litres, m³/s and l/s to l/min, mA to A, mm to m, kPa to Pa.
    """

    name: str
    """Base name + name, for instance ``tank/level``."""
    unit: str
    """One of `Unit`; any other unit is passed on as it came."""
    value: float | bool | None
    """None where the record carries only a sum."""
    total: float | None = None
    """SenML's ``s``: the integral of a rate, in litres for a flow."""
    stamp: float = 0.0
    """The node's own time as sent: 0 = on arrival, under 2**28 in amount = relative to arrival, else absolute."""
    every: float | None = None
    """SenML's ``ut``: the longest silence the node allows itself, in seconds."""


class Pack(NamedTuple):
    """What one message or one line carried."""

    at: float
    feed: str
    node: str
    records: tuple[Record, ...]
    retained: bool = False


class Alive(NamedTuple):
    """A node's own word, or its will: it is up, or gone."""

    at: float
    feed: str
    node: str
    up: bool
    retained: bool = False


class Reject(NamedTuple):
    """Something arrived that could not be used, and why. `kind` is the reject's name, the same every time."""

    at: float
    feed: str
    kind: str
    why: str
    raw: str = ""
    """The first characters of what came, safe to show."""


class Act(NamedTuple):
    """What a person did: acknowledge, shelve, packing-up, it-stands-here, …"""

    at: float
    act: str
    by: str = ""
    alarm: str | None = None
    detail: dict[str, Any] | None = None


class WallStep(NamedTuple):
    """The wall clock was stepped; the daemon's own time line was not."""

    at: float
    wall: float


class Passing(NamedTuple):
    """Time passes and nothing arrives."""

    at: float


Event: TypeAlias = Pack | Alive | Reject | Act | WallStep | Passing
