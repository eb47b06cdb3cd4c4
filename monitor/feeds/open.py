"""From a rig file's [[feed]] table to a feed."""

from collections.abc import Collection, Iterable

from monitor.feeds.backstage import Backstage
from monitor.feeds.clock import Clock
from monitor.feeds.feed import Feed
from monitor.feeds.modbus import ModbusFeed
from monitor.feeds.mqtt import MqttFeed
from monitor.feeds.recorded import recorded_feed
from monitor.feeds.serial_port import SerialFeed
from monitor.feeds.simulated import SimulatedFeed, simulated_feed
from monitor.feeds.strangers import Strangers
from monitor.machine import Machine
from monitor.rig import feed_tables as tables

REAL = Machine()


def open_feed(
    settings: tables.FeedSettings, clock: Clock, index: int = 1, machine: Machine = REAL,
    nodes: Collection[str] | None = None,
) -> Feed:  # fmt: skip
    """The feed that a table asks for, not yet started. `index` is its number among its kind, from 1; `nodes` are those
    the rig file knows: others are then held to a bound."""
    name = f"{settings.kind} {index}"
    match settings:
        case tables.MqttFeed():
            strangers = None if nodes is None else Strangers(nodes, machine.monotonic)
            return MqttFeed(
                name, settings, settings.topics, settings.maps, machine.hire, machine.mqtt_client, strangers
            )
        case tables.SerialFeed():
            return SerialFeed(name, settings.port, settings.baud, machine.hire, machine.serial_port)
        case tables.ModbusFeed():
            return ModbusFeed(name, settings, machine.hire)
        case tables.SimulatedFeed():
            backstage = Backstage(clock, settings.scenario)
            return simulated_feed(name, clock, settings.scenario, settings.seed, backstage=backstage)
        case tables.RecordedFeed():
            return recorded_feed(name, clock, settings.file)


def open_feeds(
    settings: Iterable[tables.FeedSettings], clock: Clock, machine: Machine = REAL,
    nodes: Collection[str] | None = None,
) -> list[Feed]:  # fmt: skip
    """All feeds of a rig, in the file's order, numbered among their kind."""
    counts: dict[str, int] = {}
    feeds = []
    for each in settings:
        counts[each.kind] = counts.get(each.kind, 0) + 1
        feeds.append(open_feed(each, clock, counts[each.kind], machine, nodes))
    return feeds


def backstage_of(feeds: Iterable[Feed]) -> Backstage | None:
    """Where to look behind the first simulated feed, if there is one."""
    return next((feed.backstage for feed in feeds if isinstance(feed, SimulatedFeed)), None)


def speed_of(settings: Iterable[tables.FeedSettings]) -> float:
    """How fast the daemon's clock is to run: the speed of the first feed that plays a story, else that of life.

    A rig has one time line, so all its stories are played at one speed.
    """
    return next((each.speed for each in settings if isinstance(each, tables.SimulatedFeed | tables.RecordedFeed)), 1.0)
