"""The simulated world as a feed. It speaks in the recorded form, and is read as a recording is."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Protocol

import msgspec

from monitor.feeds.backstage import Backstage
from monitor.feeds.clock import Clock
from monitor.feeds.played import PlayedFeed
from monitor.readings import Event, Reject
from monitor.wire.recorded import read_line
from monitor.wire.rejected import Rejected, shown
from simulated_feeds import open_scenario


class World(Protocol):
    def advance(self, to_at: float) -> Iterable[dict[str, Any]]:
        """All that arrives up to that time, in the recorded form."""


class Simulation:
    """A world whose dicts become events."""

    def __init__(self, world: Any, feed: str, backstage: Backstage | None = None) -> None:
        """`world` is a World, and a Scene as well where there is a backstage to follow it from."""
        self._world: World = world
        self._feed = feed
        self._scene: Any = world
        self._backstage = backstage

    def advance(self, to_at: float) -> Iterator[Event]:
        for said in self._world.advance(to_at):
            yield read(said, self._feed)
        if self._backstage is not None:
            self._backstage.follow(self._scene, to_at)

    def ended(self) -> None:
        """The world goes on."""

    def close(self) -> None:
        if self._backstage is not None:
            self._backstage.close()


def read(said: dict[str, Any], feed: str) -> Event:
    line = msgspec.json.encode(said)
    try:
        return read_line(line, feed)
    except Rejected as refused:  # worlds may garble on purpose
        return Reject(float(said["at"]), feed, refused.kind, refused.why, shown(line))


class SimulatedFeed(PlayedFeed):
    """A played world; `backstage` is where to look behind it."""

    backstage: Backstage | None = None


def simulated_feed(
    name: str,
    clock: Clock,
    scenario: str,
    seed: int | None = None,
    open_world: Callable[..., Any] = open_scenario,
    backstage: Backstage | None = None,
) -> SimulatedFeed:
    """The scenario, lived from the moment the feed is started, at the clock's speed."""

    def begin(start_at: float) -> Simulation:
        if backstage is not None:
            clock.told(start_at)
        return Simulation(open_world(scenario, seed=seed, start_at=start_at), name, backstage)

    feed = SimulatedFeed(name, clock, begin)
    feed.backstage = backstage
    return feed
