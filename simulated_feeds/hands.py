"""What can be done by hand in a running world: work the tap, a trigger, an engine, the crew."""

from collections.abc import Callable
from typing import Any, NamedTuple

from simulated_feeds.pumps import Pump
from simulated_feeds.units import BadScenario, amount
from simulated_feeds.world import World


def tap(world: World, at_s: float, open: bool | None = None, share: float | None = None) -> None:
    """Opens or shuts the tap, or lets through a share of its flow."""
    if open is not None:
        world.tap.open = open
    if share is not None:
        world.tap.kink = min(max(share, 0.0), 1.0)


def trigger(world: World, at_s: float, pump: str, on: bool) -> None:
    """Takes a gun from its hand and pulls or shuts its trigger; the engine starts with it."""
    taken = _take(world, pump)
    taken.engine = taken.engine or on
    taken.trigger = on


def engine(world: World, at_s: float, pump: str, on: bool) -> None:
    """Takes a gun from its hand and starts or stops its engine."""
    taken = _take(world, pump)
    taken.engine = on
    taken.trigger = taken.trigger and on


def give_back(world: World, at_s: float, pump: str) -> None:
    """Gives a gun back to its hand, who goes on with the day."""
    hand = world.hands[_index(world, pump)]
    hand.pump.by_hand = False
    hand.pump.trigger = False
    if world.foreman.phase == "work":
        hand.begin(at_s, soon=True)
    else:
        hand.stop(at_s)


def leak(world: World, at_s: float, flow_l_min: float) -> None:
    """Lets water out of the tank, past everything."""
    world.water.leak_l_min = max(flow_l_min, 0.0)


def fill(world: World, at_s: float, flow_l_min: float) -> None:
    """Lets water into the tank past the meter."""
    world.water.unmetered_l_min = max(flow_l_min, 0.0)


def warned(world: World, at_s: float) -> None:
    """The rig has warned of running dry; a crew that reacts stops its work."""
    world.foreman.warned(at_s)


def _take(world: World, name: str) -> Pump:
    hand = world.hands[_index(world, name)]
    hand.take_away()
    return hand.pump


def _index(world: World, name: str) -> int:
    for i, pump in enumerate(world.pumps):
        if pump.name == name:
            return i
    raise BadScenario(f'pump: found "{name}", expected one of {", ".join(pump.name for pump in world.pumps)}')


HANDS: dict[str, Callable[..., None]] = {
    "tap": tap,
    "trigger": trigger,
    "engine": engine,
    "give-back": give_back,
    "leak": leak,
    "fill": fill,
    "warned": warned,
}


IN_SCENARIOS = {"tap": ("open", "share"), "trigger": ("pump", "on"), "engine": ("pump", "on"), "give-back": ("pump",)}
"""What a scenario can have done by hand, and the keys each takes."""


class ByHand(NamedTuple):
    """Something done at a time of the story."""

    at_s: float
    what: str
    how: dict[str, Any]


def by_hand(rows: list[dict[str, Any]], world: World) -> list[ByHand]:
    """The [[by_hand]] rows of a scenario, the earliest first. Raises BadScenario."""
    return sorted((_by_hand(row, world) for row in rows), key=lambda each: each.at_s)


def _by_hand(row: dict[str, Any], world: World) -> ByHand:
    what = str(row.get("what"))
    if what not in IN_SCENARIOS:
        raise BadScenario(f'[[by_hand]] what: found "{what}", expected one of {", ".join(IN_SCENARIOS)}')
    how = {key: value for key, value in row.items() if key not in ("what", "at")}
    takes, needs = set(IN_SCENARIOS[what]), set() if what == "tap" else set(IN_SCENARIOS[what])
    if not needs <= set(how) <= takes:
        raise BadScenario(f"[[by_hand]] {what}: found {', '.join(how) or 'nothing'}, expected {', '.join(takes)}")
    if "pump" in how:
        _index(world, how["pump"])
    return ByHand(amount(row.get("at", 0.0), "[[by_hand]] at", "time"), what, how)
