"""What a sound rig file may still have got wrong: no faults, but worth a second look."""

from collections import Counter
from collections.abc import Iterator

from monitor.quantities import Dimension, write
from monitor.rig.checks import readings
from monitor.rig.defaults import placed
from monitor.rig.feed_tables import Broker, MqttFeed, RecordedFeed, SimulatedFeed
from monitor.rig.model import Rig, is_loopback
from monitor.tank.outlet import heel_l, submergence_m

ROOMY = 1.1
"""A tank that holds this many times its capacity was probably measured wrong."""


class Said:
    """Quantities in the owner's units."""

    def __init__(self, rig: Rig) -> None:
        self._system = rig.about.units

    def __call__(self, value: float, dimension: Dimension, decimals: int | None = None) -> str:
        return write(value, dimension, self._system, decimals)


def highest_draw_l_min(rig: Rig) -> float:
    """All pumps together, by the rig file."""
    return sum(pump.draw_l_min for pump in rig.pumps)


def computed_heel_l(rig: Rig) -> float | None:
    """The heel by ANSI/HI 9.8 at the highest draw, or None where the file names no outlet or no pump."""
    outlet, draw_l_min = rig.tank.outlet, highest_draw_l_min(rig)
    if outlet is None or not draw_l_min:
        return None
    return heel_l(rig.tank.strapping, outlet.bore_m, outlet.height_m, draw_l_min)


def doubts(rig: Rig) -> list[str]:
    """Each doubt as a sentence or two, in the owner's units."""
    said = Said(rig)
    found = (_heel, _room, _band, _tow_limit, _float_valve, _reach, _pumps, _names, _permit, _secrets, _files)
    return [doubt for look in found for doubt in look(rig, said)]


def _heel(rig: Rig, said: Said) -> Iterator[str]:
    tank, wanted_l = rig.tank, computed_heel_l(rig)
    if tank.outlet is None:
        yield "[tank] outlet is not given, so nobody can check whether the heel is deep enough."
    elif tank.outlet.height_m >= tank.strapping.top_m:
        yield f"[tank] outlet.height {said(tank.outlet.height_m, 'length')} lies above the tank's top."
    elif wanted_l is not None and wanted_l > tank.heel_l:
        depth = said(submergence_m(tank.outlet.bore_m, highest_draw_l_min(rig)), "length")
        yield (
            f"[tank] heel {said(tank.heel_l, 'volume')} is less than the {said(wanted_l, 'volume')} at which the "
            f"outlet may begin to draw air with every pump open: it wants {depth} of water over it."
        )


def _room(rig: Rig, said: Said) -> Iterator[str]:
    tank = rig.tank
    if tank.strapping.capacity_l > ROOMY * tank.capacity_l:
        holds, capacity = said(tank.strapping.capacity_l, "volume"), said(tank.capacity_l, "volume")
        yield f"[tank] holds {holds} by its {'shape' if tank.shape else 'table'}, far above its capacity of {capacity}."


def _band(rig: Rig, said: Said) -> Iterator[str]:
    draw_l_min, usable_l = highest_draw_l_min(rig), rig.tank.band_l[0] - rig.tank.heel_l
    if draw_l_min and usable_l < draw_l_min * rig.warn.act_time_s / 60:
        yield (
            f"[tank] band: from its low mark the water lasts {60 * usable_l / draw_l_min:.0f} s with every pump open "
            f"and no inflow, less than the act time of {rig.warn.act_time_s:.0f} s: dry-soon may come before water-low."
        )


def _tow_limit(rig: Rig, said: Said) -> Iterator[str]:
    limit_l = rig.tank.tow_limit_l
    if limit_l is not None and limit_l < rig.tank.heel_l:
        yield (
            f"[tank] tow_limit {said(limit_l, 'volume')} lies below the heel of {said(rig.tank.heel_l, 'volume')}: "
            "the pumps cannot bring the water down to it, the rest must be drained."
        )


def _float_valve(rig: Rig, said: Said) -> Iterator[str]:
    valve = rig.supply.float_valve if rig.supply else None
    if valve and valve.shut_l > rig.tank.full_l:
        shut, full = said(valve.shut_l, "volume"), said(rig.tank.full_l, "volume")
        yield f"[supply] float_valve shuts at {shut}, above full ({full}): every filling will raise overfill."


def _reach(rig: Rig, said: Said) -> Iterator[str]:
    """Sensors that cannot see the whole of the water."""
    full_m = rig.tank.strapping.height_m(rig.tank.full_l)
    for level in rig.tank.levels:
        sees_m = level.zero_m
        if sees_m is None and level.range is not None and level.range.of == "length":
            sees_m = max(level.range.at_4_ma, level.range.at_20_ma) + level.offset_m
        if sees_m is not None and sees_m < full_m:
            yield f"{level.reading} sees up to {said(sees_m, 'length')}, below full at {said(full_m, 'length')}."
    places = Counter(level.ahead_m for level in rig.tank.levels)
    if len(rig.tank.levels) > 1 and len(places) == 1:
        yield "[[tank.level]] ahead is the same for every sensor, so they cannot tell how the trailer slopes."


def _pumps(rig: Rig, said: Said) -> Iterator[str]:
    if not rig.pumps:
        yield "No [[pump]] is named: only the sum of all draws can be told, and no warning can be meant for one pump."
    for pump in rig.pumps:
        if "draw_l_min" not in pump.model_fields_set:
            yield f"{pump.name}: draw is not given; {said(pump.draw_l_min, 'flow')} is taken until it is learned."


def _names(rig: Rig, said: Said) -> Iterator[str]:
    if any(isinstance(feed, MqttFeed) for feed in rig.feeds):
        for _, _, name in readings(placed(rig)):
            if "/" not in name:
                yield f"{name} has no node in its name (node/reading): over MQTT it would be rejected."


def _permit(rig: Rig, said: Said) -> Iterator[str]:
    if rig.notices.permit and any(isinstance(feed, SimulatedFeed | RecordedFeed) for feed in rig.feeds):
        yield "[notices] permit is on, and will never be published while a feed is simulated or recorded."
    if rig.notices.outputs and any(isinstance(feed, SimulatedFeed | RecordedFeed) for feed in rig.feeds):
        yield "[notices] horn and strobe stay silent while a feed is simulated or recorded."


def _secrets(rig: Rig, said: Said) -> Iterator[str]:
    for broker in _brokers(rig):
        secret = broker.password is not None or broker.password_file is not None
        if secret and not broker.tls and not is_loopback(broker.host):
            yield f"The password for {broker.url} goes over the network in the clear; mqtts:// would keep it to itself."


def _files(rig: Rig, said: Said) -> Iterator[str]:
    named = [file for broker in _brokers(rig) for file in (broker.password_file, broker.ca, broker.cert, broker.key)]
    named += [feed.file for feed in rig.feeds if isinstance(feed, RecordedFeed)]
    for file in named:
        if file is not None and not file.is_file():
            yield f"{file} is not there, or is no file."
    if not rig.journal.file.parent.is_dir():
        yield f"{rig.journal.file.parent}, where the journal should lie, is no folder."


def _brokers(rig: Rig) -> list[Broker]:
    feeds = [feed for feed in rig.feeds if isinstance(feed, MqttFeed)]
    return [*feeds, rig.notices] if rig.notices.url else [*feeds]
