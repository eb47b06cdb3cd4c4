"""A scenario being played: what the nodes send, and beside it what is true."""

from collections.abc import Iterator
from heapq import heappop, heappush
from math import inf
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from simulated_feeds.build import build_nodes, build_world, weather_of
from simulated_feeds.nodes import Sent
from simulated_feeds.scenario import Expect, Scenario, load_scenario
from simulated_feeds.sensors import Instant
from simulated_feeds.surface import Surface, Swing
from simulated_feeds.world import World, next_dry_s

Event = dict[str, Any]
DEFAULT_START_AT = 1_795_600_000.0
_BLOCK_S = 1.0


class Truth(NamedTuple):
    """What is so. `dry_at` is the Unix time at which the volume next reaches the heel, inf if not within the look-ahead."""

    at: float
    volume_l: float
    inflow_l_min: float
    draw_l_min: dict[str, float]
    engine: dict[str, bool]
    trigger: dict[str, bool]
    leak_l_min: float
    moving: bool
    dry_at: float


class Story:
    """One scenario under one seed, moved on by `advance`. Its times are Unix seconds from `start_at` on."""

    def __init__(self, scenario: Scenario, seed: int | None = None, start_at: float = DEFAULT_START_AT) -> None:
        self.scenario = scenario
        self.seed = scenario.seed if seed is None else seed
        self.start_at = start_at
        self.title = scenario.title
        self.rig_toml = scenario.rig_toml
        self.expect: Expect = scenario.expect
        self.end_at = start_at + scenario.hours * 3600.0
        self.world = build_world(scenario, self.seed)
        self.weather = weather_of(scenario)
        self.nodes = build_nodes(scenario, self.seed, self.world, self.weather)
        self._surface = Surface(self.world.tank, Random(f"{scenario.name}/{self.seed}/surface"))
        self._swings: list[Swing] = []
        self._blocks = 0
        self._waiting: list[tuple[float, int, Sent]] = []
        self._order = 0
        self._last_at = start_at
        self._ahead: World | None = None

    def advance(self, to_at: float) -> list[Event]:
        """All that arrives up to `to_at`, in order; where nothing does for a second, that time passes."""
        out: list[Event] = []
        while self._frontier_at <= to_at:
            self._release(min(self._frontier_at, to_at), out)
            self._play_block()
        self._release(to_at, out)
        return out

    def events(self) -> Iterator[Event]:
        """The whole day, from where it stands."""
        at = self._last_at
        while at < self.end_at:
            at = min(at + 10.0, self.end_at)
            yield from self.advance(at)

    def truth(self, at: float, look_ahead_s: float = 4 * 3600.0) -> Truth:
        """What is so at a time; the crew's future is played out as far as need be."""
        at_s = at - self.start_at
        world = self.world if at_s < self.world.at_s else self._future(at_s)
        segment = world.at(at_s)
        names = [pump.name for pump in world.pumps]
        return Truth(
            at, segment.volume_at(at_s), segment.inflow_l_min, dict(zip(names, segment.draw_l_min, strict=True)),
            dict(zip(names, segment.engine, strict=True)), dict(zip(names, segment.trigger, strict=True)),
            segment.lost_l_min, segment.moving, self.start_at + self._dry_s(at_s, look_ahead_s),
        )

    def _dry_s(self, at_s: float, look_ahead_s: float) -> float:
        if at_s < self.world.at_s:
            dry_s = next_dry_s(self.world, at_s)
            if dry_s < inf:
                return dry_s
        ahead_s = max(at_s, self.world.segments[-1].start_s if self.world.segments else 0.0)
        while (dry_s := next_dry_s(self._future(ahead_s), ahead_s)) == inf and ahead_s < at_s + look_ahead_s:
            ahead_s += 300.0
        return dry_s

    def _future(self, at_s: float) -> World:
        if self._ahead is None:
            self._ahead = self.world.fork()
        self._ahead.run_to(at_s)
        return self._ahead

    @property
    def _frontier_at(self) -> float:
        """All that is sent before this time has been played."""
        return self.start_at + self._blocks * _BLOCK_S

    def _play_block(self) -> None:
        self._blocks += 1
        until_s = self._blocks * _BLOCK_S
        self.world.run_to(until_s)
        for segment in self.world.segments[len(self._swings):]:
            self._swings.append(self._surface.follow(segment))
        for node in self.nodes:
            for sent in node.send(until_s, self._look):
                self._order += 1
                heappush(self._waiting, (sent.at_s, self._order, sent))

    def _look(self, at_s: float) -> Instant:
        world = self.world
        index = len(world.segments) - 1
        while index > 0 and world.starts[index] > at_s:
            index -= 1
        return Instant(at_s, world.segments[index], self._swings[index])

    def _release(self, to_at: float, out: list[Event]) -> None:
        while self._waiting and self.start_at + self._waiting[0][0] <= to_at:
            sent = heappop(self._waiting)[2]
            self._pass_time(self.start_at + sent.at_s, out)
            self._last_at = max(round(self.start_at + sent.at_s, 6), self._last_at + 1e-6)
            out.append(_as_event(sent, round(self._last_at, 6)))
        self._pass_time(to_at, out)

    def _pass_time(self, to_at: float, out: list[Event]) -> None:
        while to_at - self._last_at >= 1.0:
            self._last_at = float(int(self._last_at) + 1)
            out.append({"at": self._last_at})


def _as_event(sent: Sent, at: float) -> Event:
    if sent.pack is None:
        return {"at": at, "node": sent.node, "alive": sent.alive}
    return {"at": at, "node": sent.node, "pack": sent.pack}


def open_scenario(name_or_path: str | Path, seed: int | None = None, start_at: float = DEFAULT_START_AT) -> Story:
    """Begins to play a scenario, by name or from a file. Raises BadScenario when it can't be played."""
    return Story(load_scenario(name_or_path), seed, start_at)
