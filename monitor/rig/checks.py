"""What only several tables together can get wrong."""

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from monitor.rig.faults import Fault, shown
from monitor.rig.feed_tables import FeedSettings, MqttFeed, SerialFeed
from monitor.rig.model import Extra, Notices, Pump, Supply
from monitor.rig.tank_tables import LevelSignal, Tank, volumes

Placed = tuple[str, str, str]
"""Table, key and text of one entry."""


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
    """A reading is one thing. Only what says yes or no may be shared: one engine may drive two pumps."""
    seen: dict[str, Placed] = {}
    for place, key, name, role in _uses(draft):
        if name not in seen:
            seen[name] = (place, key, role)
            continue
        first_place, first_key, first_role = seen[name]
        if not (role == first_role == "signal"):
            found = f"{shown(name)}, as {first_place} {first_key} has it"
            yield Fault(place, key, found, "a reading of its own")
    for place, pump in draft.pumps:
        if pump.running is not None and pump.running == pump.drawing:
            found = f"the same as running, {shown(pump.running.reading)}"
            yield Fault(place, "drawing", found, "another reading, or a threshold of its own")


def _uses(draft: Draft) -> Iterator[tuple[str, str, str, str]]:
    """(table, key, reading, role) of each place where a reading is named."""
    for place, level in draft.levels:
        yield place, "reading", level.reading, "level"
    if draft.supply and draft.supply.reading:
        yield "[supply]", "reading", draft.supply.reading, "supply"
    for place, pump in draft.pumps:
        for key, signal in (("running", pump.running), ("drawing", pump.drawing)):
            if signal is not None:
                yield place, key, signal.reading, "signal"
        if pump.suction is not None:
            yield place, "suction", pump.suction, "signal"
    if draft.extra is None:
        return
    if draft.extra.motion is not None:
        yield "[extra]", "motion", draft.extra.motion.reading, "signal"
    for key in ("slope", "water_temperature", "air_temperature", "barometer"):
        name = getattr(draft.extra, key)
        if name is not None:
            yield "[extra]", key, name, key


def _same_feeds(draft: Draft) -> Iterator[Fault]:
    for (first, one), (place, other) in combinations(draft.feeds, 2):
        match one, other:
            case SerialFeed(), SerialFeed() if one.port == other.port:
                yield Fault(place, "serial", f"{shown(other.port)}, as {first} has it", "a port of its own")
            case MqttFeed(), MqttFeed() if one.url == other.url and set(one.topics) & set(other.topics):
                yield Fault(place, "topics", f"topics that {first} has too", "topics or a broker of its own")


def _permit(draft: Draft) -> Iterator[Fault]:
    notices = draft.notices
    heard = any(isinstance(feed, MqttFeed) for _, feed in draft.feeds)
    if notices and notices.permit and notices.url is None and not heard:
        yield Fault("[notices]", "permit", "true, and no broker to publish it to", "mqtt in [notices], or an mqtt feed")
