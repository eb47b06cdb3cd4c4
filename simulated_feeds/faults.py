"""Every fault the world knows: by name, with words for people, whether it lies in the world or in what measures it."""

from typing import Any, NamedTuple

from simulated_feeds.aboard import MISHAPS, Aboard
from simulated_feeds.misfortunes import MISFORTUNES, Due
from simulated_feeds.sensor import Sensor
from simulated_feeds.units import BadScenario, amount, number
from simulated_feeds.world import World


class FaultKind(NamedTuple):
    """`takes` are the keys a scenario may add, `lasting` is false for what happens in a moment."""

    name: str
    title: str
    takes: tuple[str, ...] = ()
    lasting: bool = True

    @property
    def of_the_world(self) -> bool:
        return self.name in MISFORTUNES


FAULTS: dict[str, FaultKind] = {
    kind.name: kind
    for kind in (
        FaultKind("level-stuck", "The level repeats itself", ("reading", "trembles")),
        FaultKind("level-lost", "The level is missing", ("reading",)),
        FaultKind("level-drifts", "The level creeps away from the water", ("reading", "by")),
        FaultKind("level-jumps", "The level jumps and stays off", ("reading", "by")),
        FaultKind("false-echo", "The level sees a steady false echo", ("reading", "height")),
        FaultKind("level-out-of-range", "The level is out of its range", ("reading",)),
        FaultKind("meter-dead", "The meter counts nothing", ("reading",)),
        FaultKind("meter-stuck", "The meter repeats itself", ("reading",)),
        FaultKind("meter-slips", "The meter counts too little", ("reading", "to")),
        FaultKind("meter-over-reads", "The meter counts too much", ("reading", "to")),
        FaultKind("meter-lost", "The meter's reading is missing", ("reading",)),
        FaultKind("meter-reset", "The meter's register falls to zero", ("reading",), lasting=False),
        FaultKind("meter-jumps", "The meter's register leaps ahead", ("reading", "by"), lasting=False),
        FaultKind("signal-stuck", "A yes-or-no signal repeats itself", ("reading",)),
        FaultKind("reading-lost", "A reading is missing", ("reading",)),
        FaultKind("node-reboots", "A node keeps starting again", ("node", "every")),
        FaultKind("node-lost", "A node has no power", ("node",)),
        FaultKind("backlog", "A node loses its link and sends all later in one burst", ("node",)),
        FaultKind("clock-wrong", "A node stamps its packs with a wrong clock", ("node", "by")),
        FaultKind("lossy-air", "Packs are lost, doubled and late", ("loses", "doubles", "late")),
        FaultKind("freezing", "The air turns cold", ("by",)),
        FaultKind("tap-shut", "Somebody shuts the tap"),
        FaultKind("tap-weak", "The tap gives less", ("to",)),
        FaultKind("float-stuck", "The float valve no longer shuts"),
        FaultKind("fills-past-meter", "Water comes in past the meter", ("flow",)),
        FaultKind("leak", "A fitting leaks", ("flow",)),
        FaultKind("burst-line", "A line bursts", ("flow",)),
        FaultKind("bypass-left", "An engine is left running, trigger shut", ("pump",)),
        FaultKind("outlet-shut", "The outlet valve is shut: pumps draw nothing", ("pump", "to")),
        FaultKind("strainer-blocked", "A strainer is blocked: little comes through", ("pump", "to")),
        FaultKind("pump-weak", "A pump takes less than it did", ("pump", "to")),
        FaultKind("pump-fast", "A pump takes more than it did", ("pump", "to")),
        FaultKind("slope-flips", "The next place slopes the other way"),
    )
}


_SHARES = ("to", "loses", "doubles", "late")
_AMOUNTS = {"flow": "flow", "height": "length", "every": "time"}
_BY = {"level-drifts": "drift", "level-jumps": "length", "meter-jumps": "volume", "clock-wrong": "time"}


def due_of(rows: list[dict[str, Any]]) -> list[Due]:
    """When each [[fault]] of a scenario begins and ends."""
    due = []
    for row in rows:
        kind = FAULTS.get(str(row.get("what")))
        if kind is None:
            raise BadScenario(f'[[fault]] what: found "{row.get("what")}", expected one of {", ".join(FAULTS)}')
        params = {key: value for key, value in row.items() if key not in ("what", "at", "for")}
        unknown = set(params) - set(kind.takes)
        if unknown:
            takes = ", ".join(("at", "for", *kind.takes))
            raise BadScenario(f"[[fault]] {kind.name}: found {', '.join(sorted(unknown))}, expected only {takes}")
        _check_amounts(kind, params)
        at_s = amount(row.get("at", 0.0), "[[fault]] at", "time")
        due.append(Due(at_s, kind.name, True, params))
        if "for" in row:
            due.append(Due(at_s + amount(row["for"], "[[fault]] for", "time"), kind.name, False, params))
    return sorted(due, key=lambda each: each.at_s)


def _check_amounts(kind: FaultKind, params: dict[str, Any]) -> None:
    """When the file is read, not when the fault begins: that may be hours into the day."""
    for key, value in params.items():
        where = f"[[fault]] {kind.name}, {key}"
        if key in _SHARES or kind.name == "freezing":
            number(value, where)
        elif key in _AMOUNTS or key == "by":
            amount(value, where, _AMOUNTS.get(key) or _BY[kind.name])


def check_fault(due: Due, world: World, aboard: Aboard) -> None:
    """Raises BadScenario for a pump, a node or a reading that this rig has not."""
    named = due.params.get("pump")
    pumps = [pump.name for pump in world.pumps]
    if named is not None and named not in pumps:
        raise BadScenario(f'[[fault]] {due.what}, pump: found "{named}", expected one of {", ".join(pumps)}')
    if "node" in due.params:
        aboard.node(due.params)
    if "reading" in due.params:
        aboard.sensors(Sensor, due.params)


def set_fault(due: Due, world: World, aboard: Aboard) -> None:
    """Begins or ends one fault where it lies."""
    if due.what in MISFORTUNES:
        MISFORTUNES[due.what](world, due.on, due.params)
    else:
        MISHAPS[due.what](aboard, due.on, due.params)
