"""Which faults can happen on one rig, and at what each can be thrown."""

from simulated_feeds.aboard import Aboard
from simulated_feeds.faults import FaultKind
from simulated_feeds.flow_sensor import Meter
from simulated_feeds.level_sensor import LevelSensor
from simulated_feeds.pump_sensor import Ambient, Says
from simulated_feeds.sensor import Sensor
from simulated_feeds.world import World

ALL = ""
AT_ONCE = ("outlet-shut", "strainer-blocked")


def choices(kind: FaultKind, world: World, aboard: Aboard) -> dict[str, list[str]] | None:
    """By key (`pump`, `node`, `reading`) what the fault can be thrown at; None where this rig can't have it.

    The first may be `ALL`: left out, the fault takes all of them at once.
    """
    if kind.name == "float-stuck" and world.tap.float_valve is None:
        return None
    if kind.name == "freezing" and not _readings(aboard, Ambient):
        return None
    known = {
        "pump": [pump.name for pump in world.pumps],
        "node": [node.name for node in aboard.nodes],
        "reading": _readings(aboard, _measures(kind)),
    }
    chosen = {key: known[key] for key in kind.takes if key in known}
    if not all(chosen.values()):
        return None
    return {key: [ALL, *named] if kind.name in AT_ONCE else named for key, named in chosen.items()}


def _measures(kind: FaultKind) -> type[Sensor]:
    if kind.name.startswith("meter-"):
        return Meter
    if kind.name == "signal-stuck":
        return Says
    return Sensor if kind.name == "reading-lost" else LevelSensor


def _readings(aboard: Aboard, kind: type[Sensor]) -> list[str]:
    return [f"{node.name}/{each.name}" for node in aboard.nodes for each in node.sensors if isinstance(each, kind)]
