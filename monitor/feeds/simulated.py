"""The simulated world as a feed. It speaks in the recorded form, and is read as a recording is."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Protocol

import msgspec

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

    def __init__(self, world: World, feed: str) -> None:
        self._world = world
        self._feed = feed

    def advance(self, to_at: float) -> Iterator[Event]:
        for said in self._world.advance(to_at):
            yield read(said, self._feed)

    def ended(self) -> None:
        """The world goes on."""

    def close(self) -> None:
        """Nothing is held open."""


def read(said: dict[str, Any], feed: str) -> Event:
    line = msgspec.json.encode(said)
    try:
        return read_line(line, feed)
    except Rejected as refused:  # worlds may garble on purpose
        return Reject(float(said["at"]), feed, refused.kind, refused.why, shown(line))


def simulated_feed(
    name: str, clock: Clock, scenario: str, seed: int = 1, open_world: Callable[..., World] = open_scenario
) -> PlayedFeed:
    """The scenario, lived from the moment the feed is started, at the clock's speed."""

    def begin(start_at: float) -> Simulation:
        return Simulation(open_world(scenario, seed=seed, start_at=start_at), name)

    return PlayedFeed(name, clock, begin)
