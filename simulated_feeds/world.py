"""The physical world: water that runs in, stands in a tank and is drawn off, moved on from change to change.

Between two changes every flow stands still, so the volume is a straight line and water is conserved exactly.
The world knows nothing of sensors, and draws its chances from sources of its own: the same seed gives the same day
whatever is measured of it.
"""

from bisect import bisect_right
from copy import deepcopy
from dataclasses import dataclass
from math import inf
from random import Random
from typing import NamedTuple, Protocol

from simulated_feeds.chemical import ChemicalLine
from simulated_feeds.crew import Foreman, GunHand
from simulated_feeds.misfortunes import Misfortunes
from simulated_feeds.place import Place
from simulated_feeds.pumps import Pump
from simulated_feeds.supply import Tap
from simulated_feeds.tank import Tank

_LONGEST_S = 10.0
_ON_THE_ROAD_S = 1.5
_THROTTLING_S = 1.0
_EPSILON_L = 1e-9


class Segment(NamedTuple):
    """A span of time in which nothing changes. Times in s of the story, flows in l/min, `volume_l` at its start."""

    start_s: float
    end_s: float
    volume_l: float
    net_l_min: float
    inflow_l_min: float
    metered_l_min: float
    lost_l_min: float
    draw_l_min: tuple[float, ...]
    engine: tuple[bool, ...]
    trigger: tuple[bool, ...]
    suction: tuple[float, ...]
    starved: bool
    moving: bool
    slope: float
    phase: str
    metered_l: float
    """All that has gone through the inlet before this segment."""

    def volume_at(self, at_s: float) -> float:
        return self.volume_l + self.net_l_min * (at_s - self.start_s) / 60.0


class Agent(Protocol):
    next_at: float

    def act(self, at_s: float) -> None: ...


@dataclass
class Water:
    """How the water stands and where else it goes. Volumes in l, flows in l/min."""

    volume_l: float
    heel_l: float
    capacity_l: float
    leak_l_min: float = 0.0
    unmetered_l_min: float = 0.0


class World:
    """One rig, its crew and its site. `run_to` moves it on; `segments` holds what has happened."""

    def __init__(self, tank: Tank, water: Water, tap: Tap, pumps: list[Pump], hands: list[GunHand],
                 foreman: Foreman, place: Place, misfortunes: Misfortunes, lines: list[ChemicalLine],
                 chances: list[Random]) -> None:
        self.tank = tank
        self.water = water
        self.tap = tap
        self.pumps = pumps
        self.hands = hands
        self.foreman = foreman
        self.place = place
        self.lines = lines
        self.chances = chances
        self.misfortunes = misfortunes
        misfortunes.world = self
        self.agents: list[Agent] = [misfortunes, foreman, tap, *hands]
        self.at_s = 0.0
        self.metered_l = 0.0
        self.segments: list[Segment] = []
        self.starts: list[float] = []
        self.dry_at: list[float] = []
        self._reaches: tuple[float, float] | None = None

    def run_to(self, at_s: float) -> None:
        """Let the world happen until at least `at_s`."""
        while self.at_s <= at_s:
            self._settle()
            self._act()
            self._flow()

    def interrupt(self, at_s: float) -> None:
        """Somebody puts a hand in: forget what was to follow after `at_s`."""
        last = self.segments[-1]
        if last.start_s <= at_s < last.end_s:
            self.segments[-1] = last._replace(end_s=at_s)
            self.water.volume_l = last.volume_at(at_s)
            self.metered_l = last.metered_l + last.metered_l_min * (at_s - last.start_s) / 60.0
            self._reaches = None
            self.at_s = at_s

    def at(self, at_s: float) -> Segment:
        """The segment that holds a time already reached."""
        return self.segments[max(bisect_right(self.starts, at_s) - 1, 0)]

    def fork(self, rng: Random | None = None) -> "World":
        """The same world, to run ahead in; with `rng`, chance plays differently there."""
        memo: dict[int, object] = {id(self.segments): self.segments[-1:], id(self.starts): self.starts[-1:]}
        memo[id(self.dry_at)] = []
        memo.update((id(thing), thing) for thing in self._never_changes())
        if rng is not None:
            memo.update((id(source), rng) for source in self.chances)
        return deepcopy(self, memo)

    def _never_changes(self) -> list[object]:
        tap, foreman = self.tap, self.foreman
        habits = [hand.habits for hand in self.hands]
        return [self.tank, tap.main, tap.float_valve, foreman.ways, *foreman.left, *habits]

    def forget(self) -> None:
        """The future is open again: the people keep their habits and the site its ways, but nothing is settled."""
        now = self.at_s
        self.tap.forget(now)
        self.foreman.forget(now)
        self.misfortunes.forget()
        for hand in self.hands:
            hand.forget(now)

    def _settle(self) -> None:
        """What the segment now over has led to: a mark reached, chemical drawn."""
        if self._reaches is not None:
            self._reach(*self._reaches)
            self._reaches = None
        if self.lines and self.segments:
            last = self.segments[-1]
            for i, pump in enumerate(self.pumps):
                for line in self.lines:
                    if line.pump == pump.name:
                        line.pass_water(last.draw_l_min[i], pump.soaping, last.end_s - last.start_s)

    def _act(self) -> None:
        now = self.at_s
        for agent in self.agents:
            while agent.next_at <= now:
                agent.act(now)

    def _flow(self) -> None:
        water, now = self.water, self.at_s
        height_m = self.tank.height_m(water.volume_l)
        inflow = self.tap.inflow_l_min(height_m)
        wants = [pump.wants_l_min * pump.suction for pump in self.pumps]
        leak = water.leak_l_min if water.volume_l > _EPSILON_L else min(water.leak_l_min, inflow)
        supplied = inflow + water.unmetered_l_min
        wanted = sum(wants)
        starved = water.volume_l <= water.heel_l + _EPSILON_L and wanted + leak > supplied and wanted > 0.0
        share = self._share(max(supplied - leak, 0.0) / wanted) if starved else 1.0
        draws = tuple(want * share for want in wants)
        net = supplied - sum(draws) - leak
        over = max(net, 0.0) if water.volume_l >= water.capacity_l - _EPSILON_L else 0.0
        net -= over
        mark = self._mark_ahead(net)
        mark_s = inf if mark is None else now + max((mark - water.volume_l) * 60.0 / net, 1e-9)
        end = min(mark_s, self._next_change(now))
        self.segments.append(Segment(
            now, end, water.volume_l, net, supplied, inflow, leak + over, draws,
            tuple(pump.engine for pump in self.pumps), tuple(pump.trigger for pump in self.pumps),
            tuple(pump.suction for pump in self.pumps), starved, self.place.moving, self.place.slope,
            self.foreman.phase, self.metered_l,
        ))
        self.starts.append(now)
        if starved:
            self.foreman.water_gone(now)
        self.at_s = end
        self.metered_l += inflow * (end - now) / 60.0
        water.volume_l += net * (end - now) / 60.0
        if mark is not None and end == mark_s:
            water.volume_l = mark
            self._reaches = (mark, net)

    def _share(self, carried: float) -> float:
        """At the heel the pumps share what runs in, and the level stands; below it they draw air alone."""
        return carried if self.water.volume_l >= self.water.heel_l - _EPSILON_L else 0.0

    def _next_change(self, now: float) -> float:
        """When an agent next acts, or the longest step is over."""
        valve = self.tap.float_valve
        throttling = valve is not None and self.tank.height_m(self.water.volume_l) >= valve.starts_closing_m - 0.002
        end = now + (_ON_THE_ROAD_S if self.place.moving else _THROTTLING_S if throttling else _LONGEST_S)
        for agent in self.agents:
            if agent.next_at < end:
                end = agent.next_at
        return end

    def _mark_ahead(self, net_l_min: float) -> float | None:
        """The nearest volume, in the direction the water moves, at which something changes."""
        volume_l = self.water.volume_l
        if net_l_min == 0:
            return None
        if net_l_min < 0:
            marks = [self.water.heel_l, 0.0, self.foreman.falls_to_l]
            return max((m for m in marks if m is not None and m < volume_l - _EPSILON_L), default=None)
        marks = [self.water.capacity_l, self.foreman.rises_to_l]
        return min((m for m in marks if m is not None and m > volume_l + _EPSILON_L), default=None)

    def _reach(self, mark: float, net_l_min: float) -> None:
        """The volume comes to a mark."""
        if net_l_min < 0 and mark == self.water.heel_l:
            self.dry_at.append(self.at_s)
        elif mark == self.foreman.falls_to_l:
            self.foreman.water_gone(self.at_s, after_s=5.0)
        elif mark == self.foreman.rises_to_l:
            self.foreman.water_back(self.at_s)


def next_dry_s(world: World, at_s: float) -> float:
    """The first time from `at_s` on at which the volume came down to the heel, as far as the world has run."""
    if world.at(at_s).volume_at(at_s) <= world.water.heel_l + 1e-6:
        return at_s
    i = bisect_right(world.dry_at, at_s)
    return world.dry_at[i] if i < len(world.dry_at) else inf
