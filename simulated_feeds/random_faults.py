"""Faults drawn at random for shifts: which, when, how bad and for how long."""

from random import Random
from typing import Any

from simulated_feeds.faults import FAULTS
from simulated_feeds.random_rig import RandomRig, Sensors
from simulated_feeds.units import BadScenario

Row = dict[str, Any]

# the share of each among the faults of mixed shifts
_WEIGHTS: dict[str, float] = {
    "level-stuck": 14, "level-lost": 9, "level-drifts": 9, "level-jumps": 5, "false-echo": 7, "level-out-of-range": 3,
    "meter-dead": 5, "meter-slips": 4, "meter-over-reads": 4, "meter-lost": 3, "meter-stuck": 2, "meter-reset": 2,
    "tap-shut": 8, "tap-weak": 4, "leak": 6, "burst-line": 3, "bypass-left": 2, "strainer-blocked": 3,
    "outlet-shut": 2, "pump-weak": 3, "pump-fast": 2, "node-reboots": 4, "node-lost": 3, "backlog": 3,
    "lossy-air": 3, "slope-flips": 2,
}


def random_faults(rng: Random, rig: RandomRig, sensors: Sensors, hours: float, fault: str | None) -> list[Row]:
    """The [[fault]] rows of a shift: none, the one named, or "mixed": none in 54 of 100 shifts, two in five."""
    if fault is None:
        return []
    if fault != "mixed" and fault not in FAULTS:
        raise BadScenario(f'fault: found "{fault}", expected mixed or one of {", ".join(FAULTS)}')
    struck, both = rng.random() < 0.46, rng.random() < 0.11
    if fault != "mixed":
        return [_row(rng, fault, rig, sensors, hours)]
    if not struck:
        return []
    possible = {what: weight for what, weight in _WEIGHTS.items() if sensors != "level" or "meter" not in what}
    chosen = rng.choices(list(possible), list(possible.values()), k=2 if both else 1)
    return [_row(rng, what, rig, sensors, hours) for what in dict.fromkeys(chosen)]


def _row(rng: Random, what: str, rig: RandomRig, sensors: Sensors, hours: float) -> Row:
    """One fault, beginning within the middle of the shift."""
    begins_min = rng.uniform(0.06, 0.85) * hours * 60
    lasts_min = rng.uniform(10, 90)
    row: Row = {"what": what, "at": f"{begins_min:.1f} min"}
    row.update(_details(rng, what, rig, sensors))
    if what in _SHORT:
        lasts_min = rng.uniform(*_SHORT[what])
    elif what in _TO_THE_END:
        return row
    return {**row, "for": f"{lasts_min:.2f} min"}


_SHORT = {
    "false-echo": (0.15, 2.0),
    "burst-line": (2.0, 8.0),
    "outlet-shut": (1.5, 6.0),
    "bypass-left": (5.0, 20.0),
    "backlog": (2.0, 15.0),
    "node-lost": (3.0, 30.0),
}
_TO_THE_END = {
    "level-drifts", "level-jumps", "meter-slips", "meter-over-reads", "meter-reset", "pump-weak", "pump-fast",
    "slope-flips", "lossy-air", "meter-dead",
}


def _details(rng: Random, what: str, rig: RandomRig, sensors: Sensors) -> Row:
    sign = rng.choice((-1, 1))
    pump = {"pump": rng.choice(rig.names)}
    node = rng.choice(("tank", "inlet")) if sensors != "level" else "tank"
    details: dict[str, Row] = {
        "level-stuck": {"trembles": rng.random() < 0.4},
        "level-drifts": {"by": f"{sign * rng.choice((15, 30, 60, 120))} mm/h"},
        "level-jumps": {"by": f"{sign * rng.uniform(40, 150):.0f} mm"},
        "false-echo": {"height": f"{rng.uniform(0.4, 0.95) * rig.top_m * 1000:.0f} mm"},
        "meter-slips": {"to": round(rng.uniform(0.3, 0.85), 2)},
        "meter-over-reads": {"to": round(rng.uniform(1.15, 1.6), 2)},
        "tap-weak": {"to": round(rng.uniform(0.15, 0.6), 2)},
        "leak": {"flow": f"{rng.uniform(1.0, 6.0):.1f} l/min"},
        "burst-line": {"flow": f"{rng.uniform(30, 80):.0f} l/min"},
        "bypass-left": pump,
        "strainer-blocked": {**pump, "to": round(rng.uniform(0.05, 0.4), 2)},
        "outlet-shut": {},
        "pump-weak": {**pump, "to": round(rng.uniform(0.6, 0.88), 2)},
        "pump-fast": {**pump, "to": round(rng.uniform(1.12, 1.4), 2)},
        "node-reboots": {"node": node, "every": f"{rng.choice((40, 90, 180, 400))} s"},
        "node-lost": {"node": node},
        "backlog": {"node": node},
    }
    return details.get(what, {})
