"""What goes wrong in the world itself, with onset and end: part of the world, so that its future is played too."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Any

from simulated_feeds.units import amount

if TYPE_CHECKING:
    from simulated_feeds.world import World

Params = Mapping[str, Any]
Misfortune = Callable[["World", bool, Params], None]


@dataclass
class Due:
    """Something that begins or ends at a time."""

    at_s: float
    what: str
    on: bool
    params: Params


class Misfortunes:
    """An agent of the world that brings each misfortune and takes it away again."""

    def __init__(self, due: list[Due]) -> None:
        self.world: World | None = None
        self._due = sorted(due, key=lambda each: each.at_s)
        self.next_at = self._due[0].at_s if self._due else inf

    def act(self, at_s: float) -> None:
        while self._due and self._due[0].at_s <= at_s:
            each = self._due.pop(0)
            assert self.world is not None
            MISFORTUNES[each.what](self.world, each.on, each.params)
        self.next_at = self._due[0].at_s if self._due else inf

    def forget(self) -> None:
        """Nothing more will go wrong; what is wrong stays so."""
        self._due, self.next_at = [], inf


def _pumps(world: "World", params: Params) -> list[int]:
    """The pump named, or all of them."""
    name = params.get("pump")
    return [i for i, pump in enumerate(world.pumps) if name is None or pump.name == name]


def tap_shut(world: "World", on: bool, params: Params) -> None:
    world.tap.open = not on


def tap_weak(world: "World", on: bool, params: Params) -> None:
    world.tap.kink = float(params.get("to", 0.4)) if on else 1.0


def leak(world: "World", on: bool, params: Params) -> None:
    world.water.leak_l_min = amount(params.get("flow", "2 l/min"), "[[fault]] flow") if on else 0.0


def burst_line(world: "World", on: bool, params: Params) -> None:
    world.water.leak_l_min = amount(params.get("flow", "60 l/min"), "[[fault]] flow") if on else 0.0


def float_stuck(world: "World", on: bool, params: Params) -> None:
    world.tap.float_stuck = on


def fills_past_meter(world: "World", on: bool, params: Params) -> None:
    world.water.unmetered_l_min = amount(params.get("flow", "40 l/min"), "[[fault]] flow") if on else 0.0


def suction_blocked(world: "World", on: bool, params: Params) -> None:
    for i in _pumps(world, params):
        world.pumps[i].suction = float(params.get("to", 0.0)) if on else 1.0


def draw_changed(world: "World", on: bool, params: Params) -> None:
    for i in _pumps(world, params)[:1]:
        world.pumps[i].wear = float(params.get("to", 0.75)) if on else 1.0


def draw_raised(world: "World", on: bool, params: Params) -> None:
    draw_changed(world, on, {"to": 1.25, **params})


def bypass_left(world: "World", on: bool, params: Params) -> None:
    for i in _pumps(world, params)[:1]:
        world.hands[i].leaves_engine_on(world.at_s, on)


def slope_flips(world: "World", on: bool, params: Params) -> None:
    """The next place slopes the other way, at least one in a hundred."""
    world.place.flips = on


MISFORTUNES: dict[str, Misfortune] = {
    "tap-shut": tap_shut,
    "tap-weak": tap_weak,
    "leak": leak,
    "burst-line": burst_line,
    "float-stuck": float_stuck,
    "fills-past-meter": fills_past_meter,
    "outlet-shut": suction_blocked,
    "strainer-blocked": lambda world, on, params: suction_blocked(world, on, {"to": 0.15, **params}),
    "pump-weak": draw_changed,
    "pump-fast": draw_raised,
    "bypass-left": bypass_left,
    "slope-flips": slope_flips,
}
