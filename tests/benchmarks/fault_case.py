"""One case of the fault campaign: a seeded shift, its faults, and what the alarms made of them. Plain values.

A diagnosis is an alarm that names a cause. Told while nothing was wrong it is a false flag; told during a fault, and
neither that fault's name nor true of the world at that moment, it is a wrong diagnosis.
"""

from collections.abc import Iterator
from random import Random
from typing import Any, NamedTuple

from monitor.changes import AlarmChange
from monitor.core import Core
from monitor.feeds.simulated import read
from monitor.rig.load import parse
from simulated_feeds.random_rig import SENSORS, random_rig
from simulated_feeds.scenario import make_scenario
from simulated_feeds.shifts import FAMILIES, random_shift
from simulated_feeds.story import Story
from tests.benchmarks.fault_kinds import KINDS, METERED, PAIRED, Kind, Moment

DIAGNOSES = {
    "supply-lost", "level-signal", "supply-signal", "node-lost", "bypass-hot", "draw-low", "draw-high", "leak",
    "pump-starved",
}  # fmt: skip
AFTER_S = 300.0  # what a fault has stirred up may be told of so long after its end
TRUE_LATELY_S = 90
TURN = (*KINDS, "two at once", "nothing", "nothing")


class Case(NamedTuple):
    """Which case to play: all of it follows from the number."""

    number: int
    what: str
    sensors: str


class Fault(NamedTuple):
    """A fault as it was thrown. Times in s of the story."""

    name: str
    kind: Kind
    begins_s: float
    ends_s: float


def case(number: int) -> Case:
    """Each kind in turn, on each set of sensors that can show it."""
    what, turn = TURN[number % len(TURN)], number // len(TURN)
    sensors = KINDS[what].sensors if what in KINDS else METERED if what == "two at once" else SENSORS
    return Case(number, what, sensors[turn % len(sensors)])


def play(number: int) -> dict[str, Any]:
    """The record of one case."""
    asked = case(number)
    story, faults = story_of(asked)
    told = _told(story)
    moments = _moments(story)
    span = [(f.begins_s, f.ends_s + AFTER_S) for f in faults]
    out = [(at_s, alarm, why) for at_s, alarm, why in told if alarm in DIAGNOSES and not _true(alarm, at_s, moments)]
    fine = frozenset().union(*(f.kind.right | f.kind.also for f in faults)) if faults else frozenset()
    during = [one for one in out if any(a <= one[0] <= b for a, b in span)]
    end_s = story.end_at - story.start_at
    faulty_s = max((min(b, end_s) for _, b in span), default=0.0) - min((a for a, _ in span), default=0.0)
    return {
        "key": asked.number,
        "what": asked.what,
        "sensors": asked.sensors,
        "hours": round(end_s / 3600.0, 3),
        "faulty_h": round(faulty_s / 3600.0, 3),
        "faults": [_found(f, told, moments) for f in faults],
        "false": [one for one in out if one not in during],
        "wrong": [one for one in during if one[1] not in fine],
    }


def story_of(asked: Case) -> tuple[Story, list[Fault]]:
    rng = Random(f"case-{asked.number}")
    names = [asked.what] if asked.what in KINDS else rng.sample(PAIRED, 2) if asked.what == "two at once" else []
    kinds = [KINDS[name] for name in names]
    low = max((kind.hours[0] for kind in kinds), default=1.0)
    hours = round(rng.uniform(low, 4.0), 2)
    family = FAMILIES[asked.number % len(FAMILIES)]
    plain = random_shift(asked.number, family, asked.sensors, None, hours)
    rig = random_rig(Random(f"shift-{family}-{asked.number}/rig"))
    tables = dict(plain.scenario.tables)
    begins_s = rng.uniform(0.25, 0.4) * hours * 3600.0
    faults = [_fault(rng, name, begins_s + k * rng.uniform(0.0, 600.0), hours) for k, name in enumerate(names)]
    rows = [{**f.kind.row(rng, rig), "at": f.begins_s, "for": f.ends_s - f.begins_s} for f in faults]
    if any(kind.parked for kind in kinds):
        tables["crew"] = {**tables["crew"], "day": [["work", begins_s - 120.0], ["break", 4 * 3600.0]]}
        rows.insert(0, {"what": "tap-shut", "at": begins_s - 60.0})
    tables["fault"] = rows
    made = make_scenario(plain.scenario.name, tables, plain.scenario.rig_toml)
    return Story(made, asked.number, plain.start_at), faults


def _fault(rng: Random, name: str, begins_s: float, hours: float) -> Fault:
    kind = KINDS[name]
    ends_s = hours * 3600.0 if kind.lasts_min is None else begins_s + 60.0 * rng.uniform(*kind.lasts_min)
    return Fault(name, kind, round(begins_s, 1), round(ends_s, 1))


def _told(story: Story) -> list[tuple[float, str, str]]:
    """Time, alarm and variant of all that was told."""
    return [
        (round(change.at - story.start_at, 1), change.alarm, variant(core, change.alarm))
        for core, changes in lived(story)
        for change in changes
        if change.state == "unacknowledged"
    ]


def lived(story: Story) -> Iterator[tuple[Core, list[AlarmChange]]]:
    """The core after each event of the story, and what its alarms did then. The forecast plays no part in the alarms,
    and is left out."""
    core = Core(parse(story.rig_toml))
    core.outlook.look = lambda *_: None  # type: ignore[assignment]
    for said in story.events():
        changes = core.take(read(said, "simulated 1"))
        yield core, [change for change in changes if isinstance(change, AlarmChange)]


def variant(core: Core, alarm: str) -> str:
    """Of what stands: why."""
    return next((one["variant"] or "" for one in core.board.standing() if one["alarm"] == alarm), "")


def _moments(story: Story) -> list[Moment]:
    """What was so in each second of the story."""
    rig = parse(story.rig_toml)
    valve = rig.supply.float_valve if rig.supply else None
    wanted_l = min(valve.starts_closing_l if valve else rig.tank.full_l, rig.tank.band_l[1])
    bears_s = min(pump.bypass.time_s for pump in rig.pumps)
    shut_s = [0.0] * len(rig.pumps)
    moments = []
    for t in range(int(story.end_at - story.start_at) + 1):
        segment = story.world.at(float(t))
        idles = zip(segment.engine, segment.trigger, strict=True)
        shut_s = [s + 1.0 if on and not held else 0.0 for s, (on, held) in zip(shut_s, idles, strict=True)]
        moments.append(Moment(segment, segment.volume_at(float(t)), wanted_l, tuple(shut_s), bears_s))
    return moments


def _found(fault: Fault, told: list[tuple[float, str, str]], moments: list[Moment]) -> dict[str, Any]:
    """When it was named, by the clock that runs while it shows; `shown_s`: for how long it showed in all."""
    named = [one for one in told if one[1] in fault.kind.right and fault.begins_s <= one[0] <= fault.ends_s + 60.0]
    seconds = range(int(fault.begins_s), min(len(moments), int(fault.ends_s) + 1))
    shown = [t for t in seconds if fault.kind.shows(moments[t])]
    after_s = sum(t <= named[0][0] for t in shown) if named else None
    first = named[0][1] if named else ""
    return {"name": fault.name, "after_s": after_s, "shown_s": len(shown), "first": first}


def _true(alarm: str, at_s: float, moments: list[Moment]) -> bool:
    """Was it so in the world, a moment ago or now? Only for what the world itself can do beside the faults thrown."""
    lately = moments[max(0, int(at_s) - TRUE_LATELY_S) : int(at_s) + 1]
    if alarm == "bypass-hot":
        return any(max(m.on_bypass_s) > 0.9 * m.bears_s for m in lately)
    if alarm == "supply-lost":
        usual = max(m.segment.metered_l_min for m in moments[: int(at_s) + 1])
        return any(m.segment.metered_l_min < 0.25 * usual for m in lately)
    if alarm == "leak":
        return any(m.segment.lost_l_min > 0.0 for m in lately)
    if alarm == "pump-starved":
        return any(m.segment.starved or min(m.segment.suction) < 0.5 for m in lately)
    return False
