"""What only several tables together can get wrong."""

from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import NamedTuple

from monitor.rig.faults import Fault, shown
from monitor.rig.feed_tables import FeedSettings, ModbusFeed, MqttFeed, SerialFeed
from monitor.rig.kinds import Table
from monitor.rig.model import Extra, Pump, Signal, Supply
from monitor.rig.notice_tables import Notices
from monitor.rig.tank_tables import LevelSignal, Tank, volumes

READINGS = ("reading", "suction", "slope", "water_temperature", "air_temperature", "barometer")


class Draft(NamedTuple):
    """The tables that are sound in themselves; None for one that is missing or at fault. Lists carry their places."""

    tank: Tank | None
    levels: list[tuple[str, LevelSignal]]
    supply: Supply | None
    pumps: list[tuple[str, Pump]]
    extra: Extra | None
    feeds: list[tuple[str, FeedSettings]]
    notices: Notices | None


def checks(draft: Draft) -> Iterator[Fault]:
    """Every fault between tables."""
    yield from _float_valve(draft)
    yield from _barometer(draft)
    yield from _same_names(draft)
    yield from _same_readings(draft)
    yield from _same_feeds(draft)
    yield from _permit(draft)
    yield from _outputs(draft)


def _float_valve(draft: Draft) -> Iterator[Fault]:
    valve = draft.supply.float_valve if draft.supply else None
    if valve and draft.tank and valve.shut_l > draft.tank.capacity_l:
        expected = f"at most the tank's capacity ({volumes(draft.tank.capacity_l)})"
        yield Fault("[supply]", "float_valve.shut", volumes(valve.shut_l), expected)


def _barometer(draft: Draft) -> Iterator[Fault]:
    if draft.extra is None or draft.extra.barometer is not None:
        return
    for place, level in draft.levels:
        if level.absolute:
            expected = "a barometer in [extra], since the weather moves an absolute sensor by inches of water"
            yield Fault(place, "absolute", "true", expected)


def _same_names(draft: Draft) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for place, pump in draft.pumps:
        if pump.name in seen:
            yield Fault(place, "name", f"{shown(pump.name)}, as {seen[pump.name]} has it", "a name of its own")
        seen.setdefault(pump.name, place)


def _same_readings(draft: Draft) -> Iterator[Fault]:
    """A reading is one thing and serves for one."""
    seen: dict[str, str] = {}
    tables = [*draft.levels, ("[supply]", draft.supply), *draft.pumps, ("[extra]", draft.extra)]
    for place, key, name in readings(tables):
        if name in seen:
            yield Fault(place, key, f"{shown(name)}, as {seen[name]} has it", "a reading of its own")
        seen.setdefault(name, f"{place} {key}")


def readings(tables: Iterable[tuple[str, Table | None]]) -> Iterator[tuple[str, str, str]]:
    """(table, key, reading) of each place where these tables, each with its place, name a reading."""
    for place, table in tables:
        for key, value in table or ():
            if isinstance(value, Signal):
                yield place, key, value.reading
            elif value is not None and key in READINGS:
                yield place, key, str(value)


def _same_feeds(draft: Draft) -> Iterator[Fault]:
    for (first, one), (place, other) in combinations(draft.feeds, 2):
        match one, other:
            case (SerialFeed() | ModbusFeed()), (SerialFeed() | ModbusFeed()) if one.port == other.port:
                yield Fault(place, "serial", f"{shown(other.port)}, as {first} has it", "a port of its own")
            case MqttFeed(), MqttFeed() if one.url == other.url and set(one.topics) & set(other.topics):
                yield Fault(place, "topics", f"topics that {first} has too", "topics or a broker of its own")


def _permit(draft: Draft) -> Iterator[Fault]:
    notices = draft.notices
    heard = any(isinstance(feed, MqttFeed) for _, feed in draft.feeds)
    if notices and notices.permit and notices.url is None and not heard:
        yield Fault("[notices]", "permit", "true, and no broker to publish it to", "mqtt in [notices], or an mqtt feed")


def _outputs(draft: Draft) -> Iterator[Fault]:
    """Horn and strobe: each a relay of its own, on no feed's port, and a broker where one listens to a topic."""
    notices = draft.notices
    if notices is None:
        return
    heard = notices.url is not None or any(isinstance(feed, MqttFeed) for _, feed in draft.feeds)
    ports = {feed.port: place for place, feed in draft.feeds if isinstance(feed, SerialFeed | ModbusFeed)}
    for name, output in notices.outputs:
        if output.topic is not None and not heard:
            found = "a topic, and no broker to publish it to"
            yield Fault("[notices]", name, found, "mqtt in [notices], or an mqtt feed")
        if output.serial in ports:
            place = ports[output.serial]
            yield Fault("[notices]", name, f"{shown(output.serial)}, as {place} has it", "a port of its own")
    if notices.horn and notices.strobe and notices.horn.place == notices.strobe.place:
        yield Fault("[notices]", "strobe", f"{notices.strobe.place}, as horn has it", "another pin or topic")
