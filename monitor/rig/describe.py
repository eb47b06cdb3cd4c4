"""What a rig file was understood to say, told to its owner in his own units."""

from collections.abc import Iterator
from textwrap import wrap

from monitor.planning import haul
from monitor.quantities import write_time
from monitor.rig.defaults import defaults
from monitor.rig.defaults import said as valued
from monitor.rig.doubts import Said, computed_heel_l, doubts, highest_draw_l_min
from monitor.rig.feed_tables import FeedSettings, ModbusFeed, MqttFeed, RecordedFeed, SerialFeed, SimulatedFeed
from monitor.rig.gains import gains
from monitor.rig.model import Pump, Rig, Signal, is_loopback
from monitor.rig.tank_tables import LevelSignal
from monitor.tank.level import USUAL_WATER_C, water_density_kg_m3
from monitor.tank.outlet import submergence_m

STEPS = 8
WIDTH = 100
GAINS = {"en": "What one more sensor would buy", "es": "Qué daría un sensor más"}


def describe(rig: Rig) -> str:
    """The text of ``holdwater check``: what is understood, what was taken by default, what deserves a second look."""
    said = Said(rig)
    taken = [f"{table} {key} = {value}" for table, key, value in defaults(rig)]
    parts = [
        ("", [f"{rig.about.name}: understood, no fault found."]),
        ("The tank", [*_tank(rig, said), "", *_table(rig, said), "", *_heel(rig, said)]),
        ("Signals", list(_signals(rig, said))),
        ("Pumps", [_pump(pump, said) for pump in rig.pumps] or ["none named"]),
        ("Feeds", [_feed(name, feed) for name, feed in rig.named_feeds]),
        ("Everything else", list(_rest(rig))),
        ("Taken by default, since the file leaves it open", taken or ["nothing"]),
        ("Worth a second look", doubts(rig) or ["nothing"]),
        (GAINS[rig.about.language], gains(rig, rig.about.language)),
    ]
    return "\n\n".join(_part(title, lines) for title, lines in parts if lines)


def _part(title: str, lines: list[str]) -> str:
    """A title and its lines, indented and folded; the lines of a table begin with a space and are left as they are."""
    folded: list[str] = []
    for line in lines:
        sentence = bool(line) and not line.startswith(" ")
        folded += wrap(line, WIDTH, subsequent_indent="  ") if sentence else [line]
    return "\n".join([title, *(f"  {line}".rstrip() for line in folded)] if title else folded)


def _tank(rig: Rig, said: Said) -> Iterator[str]:
    tank = rig.tank
    holds, top = said(tank.strapping.capacity_l, "volume"), said(tank.strapping.top_m, "length")
    if tank.shape is not None:
        sizes = ", ".join(_sizes(rig))
        yield f"A {tank.shape.kind}, {sizes}: it holds {holds} up to its top at {top}."
    else:
        given_l = tank.rows[-1][1] if tank.rows else 0.0
        yield f"By a strapping table of {len(tank.rows or ())} rows: {holds} up to {top}."
        if given_l < tank.strapping.capacity_l:
            yield f"The table ends at {said(given_l, 'volume', 1)} and was extended to the capacity."
    if tank.tow_limit_l is not None:
        mass_kg = tank.tow_limit_l * water_density_kg_m3(USUAL_WATER_C) / 1000
        yield (
            f"Water at the tow limit weighs {said(mass_kg, 'mass')}. In a part-full tank it moves, and with it the "
            "weight on the tongue: the makers' limits for trailer and hitch come first."
        )


    if rig.tow is not None:
        room_l = haul.most_water_l(rig.tow.load, water_density_kg_m3(USUAL_WATER_C))
        yield f"The plate, less the empty rig, fuel and chemicals, leaves room for {said(room_l, 'volume')} of water."


def _sizes(rig: Rig) -> Iterator[str]:
    for name, value in vars(rig.tank.shape).items():
        if value is not None:
            yield f"{name.removesuffix('_m').replace('_', ' ')} {valued(name, value, rig.about.units)}"


def _table(rig: Rig, said: Said) -> Iterator[str]:
    """The strapping table, coarse, with the owner's marks in it."""
    tank, table = rig.tank, rig.tank.strapping
    marks = [
        (tank.heel_l, "heel"),
        (tank.band_l[0], "band, low mark"),
        (tank.band_l[1], "band, high mark"),
        (tank.full_l, "full"),
        (tank.capacity_l, "capacity"),
    ]
    if tank.tow_limit_l is not None:
        marks.append((tank.tow_limit_l, "tow limit"))
    bottom_m = table.rows[0][0]
    gap_m = (table.top_m - bottom_m) / STEPS
    rows = [(table.height_m(volume), volume, mark) for volume, mark in marks]
    for height in (bottom_m + gap_m * step for step in range(STEPS + 1)):
        if all(abs(height - marked) > gap_m / 4 for marked, _, _ in rows):
            rows.append((height, table.volume_l(height), ""))
    step, step_m = ("in", 0.0254) if rig.about.units == "us" else ("cm", 0.01)
    yield f"{'height':>10}{'volume':>10}   one {step} more"
    for height_m, volume_l, mark in sorted(rows):
        more = said(table.slope_l_per_m(height_m) * step_m, "volume", 1)
        yield f"{said(height_m, 'length'):>10}{said(volume_l, 'volume'):>10}{more:>14}   {mark}"


def _heel(rig: Rig, said: Said) -> Iterator[str]:
    tank, computed_l, draw_l_min = rig.tank, computed_heel_l(rig), highest_draw_l_min(rig)
    yield f"Heel given: {said(tank.heel_l, 'volume')}, at {said(tank.strapping.height_m(tank.heel_l), 'length')}."
    if tank.outlet is None or computed_l is None:
        yield "Heel computed: not without the outlet's bore and height, and a pump's draw."
        return
    bore, height = said(tank.outlet.bore_m, "length", 2), said(tank.outlet.height_m, "length")
    depth = said(submergence_m(tank.outlet.bore_m, draw_l_min), "length")
    yield (
        f"Heel computed: {said(computed_l, 'volume')}. An outlet of {bore} at {height} wants {depth} of water over it "
        f"when all pumps draw {said(draw_l_min, 'flow')} together (ANSI/HI 9.8, stretched to small bores: a guide)."
    )


def _signals(rig: Rig, said: Said) -> Iterator[str]:
    for level in rig.tank.levels:
        yield f"{level.reading}: the level, {_level(level, rig, said)}"
    supply = rig.supply
    if supply is None or supply.reading is None:
        yield "no meter on the inflow: it is judged by the level alone"
    else:
        k_factor = f", {said(supply.k_factor_per_l, 'k_factor')}" if supply.k_factor_per_l else ""
        yield f"{supply.reading}: the inflow, by its {supply.measures}{k_factor}"
    if supply is not None and supply.float_valve is not None:
        starts, shut = said(supply.float_valve.starts_closing_l, "volume"), said(supply.float_valve.shut_l, "volume")
        yield f"a float valve starts to close at {starts} and is shut at {shut}"
    if rig.extra.motion is not None:
        yield f"{_signal(rig.extra.motion, said)}: the trailer moves"
    for what in ("slope", "water_temperature", "air_temperature", "barometer"):
        name = getattr(rig.extra, what)
        if name is not None:
            yield f"{name}: {what.replace('_', ' ')}"


def _level(level: LevelSignal, rig: Rig, said: Said) -> str:
    how = [f"as a {level.measures}"]
    if level.range is not None:
        ends = (level.range.at_4_ma, level.range.at_20_ma)
        at_4, at_20 = (said(end, level.range.of) for end in ends)
        how.append(f"{at_4} at 4 mA and {at_20} at 20 mA (a fault at 3.6 mA and below, 21 mA and above: NAMUR NE 43)")
    if level.zero_m is not None:
        how.append(f"looking down from {said(level.zero_m, 'length')}")
    if level.measures == "pressure" or (level.range is not None and level.range.of == "pressure"):
        water = (
            f"by {rig.extra.water_temperature}" if rig.extra.water_temperature else f"taken as {USUAL_WATER_C:.0f} °C"
        )
        how.append(f"{'absolute, less the barometer' if level.absolute else 'gauge'}, water temperature {water}")
    if level.offset_m:
        how.append(f"counted from {said(level.offset_m, 'length')}")
    if level.ahead_m:
        where = "ahead of" if level.ahead_m > 0 else "behind"
        how.append(f"{said(abs(level.ahead_m), 'length')} {where} the tank's middle")
    return ", ".join(how)


def _pump(pump: Pump, said: Said) -> str:
    parts = [f"draws {said(pump.draw_l_min, 'flow')}"]
    parts.append(f"runs by {_signal(pump.running, said)}" if pump.running else "running inferred")
    parts.append(f"draws by {_signal(pump.drawing, said)}" if pump.drawing else "drawing inferred")
    if pump.suction is not None:
        parts.append(f"suction by {pump.suction}")
    if pump.hose is not None:
        parts.append(f"hose full with {said(pump.hose.volume_l, 'volume', 1)}")
    return (
        f"{pump.name}: {', '.join(parts)}; bypass to the {pump.bypass.to}, for {write_time(pump.bypass.time_s)} at most"
    )


def _signal(signal: Signal, said: Said) -> str:
    if signal.above is None:
        return signal.reading
    return f"{signal.reading} above {said(signal.above.value, signal.above.dimension)}"


def _feed(name: str, feed: FeedSettings) -> str:
    match feed:
        case MqttFeed():
            how = f"{feed.url}{', TLS' if feed.tls else ''}, topics {', '.join(feed.topics)}{_mapped(feed)}"
        case SerialFeed():
            how = f"{feed.port} at {feed.baud} baud"
        case ModbusFeed():
            read = ", ".join(f"{each.reading} from {each.table} {each.address}" for each in feed.registers)
            how = f"{feed.port} at {feed.baud} baud, asked every {feed.every_s:g} s: {read}"
        case SimulatedFeed():
            return f"{name}: scenario {feed.scenario}, {feed.speed:g} times as fast as life, seed {feed.seed}"
        case RecordedFeed():
            how = f"{feed.file}, {feed.speed:g} times as fast as life"
    counts = "by the node's clock" if feed.clock == "node" else "from its arrival"
    return f"{name}: {how}; a reading's time counts {counts}"


def _mapped(feed: MqttFeed) -> str:
    read = [f"{each.reading} from {each.topic} {each.pointer}".rstrip() for each in feed.maps]
    return f", and {', '.join(read)}" if read else ""


def _rest(rig: Rig) -> Iterator[str]:
    units = "US" if rig.about.units == "us" else "metric"
    yield f"people read {units} units, language {rig.about.language}, {rig.about.timezone or 'local'} time"
    yield f"shutting down in an orderly way takes {write_time(rig.warn.act_time_s)}"
    yield f"journal: {rig.journal.file}"
    yield f"page: http{'' if is_loopback(rig.page.host) else 's'}://{rig.page.listen}/"
    broker = rig.broker
    yield f"notices go to {broker.url}" if broker else "notices go nowhere, there is no broker"
    permit = "published; it advises a relay and is no safety device" if rig.notices.permit else "off"
    yield f"the permit for an owner's relay is {permit}"
    for name, output in rig.notices.outputs:
        yield f"{name}: {output.place}"
    if not rig.notices.outputs:
        yield "no horn and no strobe; a tablet's speaker is not heard through ear defenders beside an engine"
