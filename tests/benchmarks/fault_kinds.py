"""The kinds of fault of the campaign: how each is thrown, when it can be seen, and which alarm names it.

The clock of a fault runs only while it shows: a frozen level while a pump draws, a dead meter while water flows
through it, a shut tap while water is wanted. What can't be seen by any signal aboard is not asked for.
"""

from collections.abc import Callable, Mapping
from random import Random
from typing import Any, NamedTuple

from simulated_feeds.random_rig import SENSORS, RandomRig
from simulated_feeds.world import Segment

Row = dict[str, Any]
METERED = ("level+meter", "running", "drawing")
WATCHED = ("running", "drawing")


class Moment(NamedTuple):
    """One second of the story, as it truly was. Volumes in l."""

    segment: Segment
    volume_l: float
    wanted_l: float
    """Up to here the crew wants water, and no float valve holds it back."""
    on_bypass_s: tuple[float, ...]
    """For how long each engine has run with its trigger shut."""
    bears_s: float


class Kind(NamedTuple):
    """One kind of fault. Targets in s: the median and the 90 % time to find; None where none is set."""

    row: Callable[[Random, RandomRig], Row]
    right: frozenset[str]
    shows: Callable[[Moment], bool]
    sensors: tuple[str, ...] = METERED
    targets_s: tuple[float, float] | None = None
    also: frozenset[str] = frozenset()
    """Alarms that are no wrong diagnosis beside it."""
    hours: tuple[float, float] = (1.0, 4.0)
    lasts_min: tuple[float, float] | None = None
    parked: bool = False
    """On a break, the tap shut."""


def draws(now: Moment) -> bool:
    return any(now.segment.draw_l_min) and not now.segment.moving


def flows(now: Moment) -> bool:
    return now.segment.metered_l_min > 0.5 and not now.segment.moving


def wanted(now: Moment) -> bool:
    return now.segment.phase in ("work", "wait") and now.volume_l < now.wanted_l


def stands(now: Moment) -> bool:
    return not now.segment.moving


def rests(now: Moment) -> bool:
    return not now.segment.moving and not any(now.segment.draw_l_min)


def always(now: Moment) -> bool:
    return True


def borne_too_long(now: Moment) -> bool:
    return max(now.on_bypass_s) > now.bears_s


def _plain(what: str) -> Callable[[Random, RandomRig], Row]:
    return lambda rng, rig: {"what": what}


def _with(what: str, **details: Callable[[Random], Any]) -> Callable[[Random, RandomRig], Row]:
    return lambda rng, rig: {"what": what, **{key: of(rng) for key, of in details.items()}}


def _signed_mm(low: float, high: float, per: str = "") -> Callable[[Random], str]:
    return lambda rng: f"{rng.choice((-1, 1)) * rng.uniform(low, high):.0f} mm{per}"


_LEVEL, _METER = frozenset({"level-signal"}), frozenset({"supply-signal"})
_STUCK = frozenset({"level-signal", "pump-starved"})

KINDS: Mapping[str, Kind] = {
    "lost level": Kind(_plain("level-lost"), frozenset({"level-signal", "node-lost"}), always, SENSORS, (12, 15)),
    "frozen level": Kind(_plain("level-stuck"), _STUCK, draws, SENSORS, (20, 60)),
    "level stuck, trembling": Kind(_with("level-stuck", trembles=lambda rng: True), _STUCK, draws, WATCHED),
    "drifting level": Kind(
        _with("level-drifts", by=_signed_mm(15, 60, "/h")), _LEVEL, stands, METERED, (3600, 7200), hours=(3.0, 4.0)
    ),
    "jumping level": Kind(_with("level-jumps", by=_signed_mm(60, 150)), _LEVEL, stands, SENSORS),
    "dead meter": Kind(_plain("meter-dead"), _METER, flows, METERED, (180, 900)),
    "slipping meter": Kind(_with("meter-slips", to=lambda rng: round(rng.uniform(0.3, 0.85), 2)), _METER, flows),
    "over-reading meter": Kind(
        _with("meter-over-reads", to=lambda rng: round(rng.uniform(1.15, 1.6), 2)), _METER, flows
    ),
    "shut tap": Kind(_plain("tap-shut"), frozenset({"supply-lost"}), wanted, METERED, (45, 60)),
    "leak, parked": Kind(
        _with("leak", flow=lambda rng: "2 l/min"), frozenset({"leak"}), rests, METERED, (900, 1500),
        also=frozenset({"supply-lost"}), parked=True,
    ),
    "burst line": Kind(
        _with("burst-line", flow=lambda rng: f"{rng.uniform(30, 80):.0f} l/min"), frozenset({"leak"}), always, WATCHED,
        lasts_min=(2.0, 8.0), also=frozenset({"draw-high"}),
    ),
    "bypass left": Kind(
        lambda rng, rig: {"what": "bypass-left", "pump": rng.choice(rig.names)}, frozenset({"bypass-hot"}),
        borne_too_long, WATCHED, lasts_min=(6.0, 20.0),
    ),
    "rebooting node": Kind(
        _with("node-reboots", node=lambda rng: rng.choice(("tank", "inlet")),
              every=lambda rng: f"{rng.choice((40, 90, 180, 400))} s"),
        frozenset({"node-lost"}), always, METERED, also=_LEVEL | _METER,
    ),
}  # fmt: skip
PAIRED = ("lost level", "frozen level", "drifting level", "dead meter", "slipping meter", "shut tap", "rebooting node")
