"""What the owner's page shows beyond the crew's: every signal raw and converted, nodes, calibration, the checklist."""

from collections.abc import Iterator
from typing import Any

from monitor.core.core import Core
from monitor.core.signals import Signal
from monitor.core.standing import signal_part
from monitor.quantities import System
from monitor.rig.gains import gains
from monitor.rig.model import Rig

QUIET_S = 600.0
STEADY_M = 0.03


def owner(core: Core, at: float) -> dict[str, Any]:
    """As of `at` on the daemon's time line; SI units, raw values in the units they came in."""
    return {
        "at": round(at, 3),
        "signals": [_signal(core, at, signal) for signal in core.intake.signals.values()],
        "nodes": [_node(core, at, name) for name in core.intake.nodes],
        "rejects": {
            "total": sum(core.rejects.values()),
            "by_kind": dict(core.rejects),
            "latest": [reject._asdict() for reject in reversed(core.latest_rejects)],
        },
        "unknown_names": dict(core.intake.unknown),
        "calibration": core.calibrating.standing(at),
        "hours": core.hours.standing(core.pumps),
        "upkeep": core.servicing.standing(core.wall(at), core.intake.surroundings.get("air_temperature")),
        "season": core.season.standing(core.pumps),
        "choices": _choices(core),
        "gains": _gains(core.file_rig),
        "checklist": [{"item": item, "of": of, "done": done} for item, of, done in _checklist(core, at)],
    }


def _gains(rig: Rig) -> dict[str, dict[str, list[str]]]:
    """What one more sensor would buy: by language, then by unit system, for the page can switch both."""
    systems: tuple[System, ...] = ("us", "metric")
    return {language: {system: gains(rig, language, system) for system in systems} for language in ("en", "es")}


def _signal(core: Core, at: float, signal: Signal) -> dict[str, Any]:
    gap_s = signal.alive.gap_s
    return signal_part(core, at, signal) | {
        "of": signal.subject,
        "every_s": None if gap_s is None else round(gap_s, 3),
        "noise": signal.noise,
        "step": signal.step,
        "means": _means(core, signal),
    }


def _means(core: Core, signal: Signal) -> dict[str, float] | None:
    """What a level or the meter's reading stands for in the tank."""
    if signal.kind == "supply" and core.intake.meter is not None:
        return {"flow_l_min": round(core.intake.meter.inflow.l_min, 2)}
    level = next((level for level in core.intake.levels if level.settings.reading == signal.name), None)
    if level is None or level.sense.last_m is None:
        return None
    height_m = level.sense.last_m
    return {"height_m": round(height_m, 4), "volume_l": round(core.rig.tank.strapping.volume_l(height_m), 2)}


def _node(core: Core, at: float, name: str) -> dict[str, Any]:
    node = core.intake.nodes[name]
    age_s = node.alive.age_s(at)
    return {
        "name": name,
        "age_s": None if age_s is None else round(age_s, 1),
        "state": "never heard" if age_s is None else "gone" if node.gone else "silent" if node.lost(at) else "up",
        "packs": node.alive.count,
        "lost_packs": node.lost_packs,
        "counts": node.seq is not None,
        "uptime_s": node.uptime_s,
        "reboots": len(node.reboots),
        "clock_fault": node.clock_fault,
        "will": node.worded,
        **{what: {"value": value, "unit": unit} for what, (value, unit) in node.own.items()},
    }


def _choices(core: Core) -> dict[str, list[str]]:
    """What can be calibrated on this rig, and of what."""
    return {
        "bucket": [""] if core.intake.meter else [],
        "fill": [""] if core.intake.meter else [],
        "level": [level.reading for level in core.rig.tank.levels if level.measures != "volume"],
        "draw": [pump.name for pump in core.rig.pumps],
    }


def _checklist(core: Core, at: float) -> Iterator[tuple[str, str, bool]]:
    """The retrofit step by step; each ticks itself off by what has been heard or done."""
    signals = core.intake.signals.values()
    for signal in signals:
        yield "heard", signal.name, signal.usable(at)
    for signal in signals:
        if signal.kind in ("running", "drawing"):
            yield "says-both", signal.name, signal.said == {True, False}
    for level in core.intake.levels:
        signal = core.intake.signals[level.settings.reading]
        yield "level-moves", signal.name, level.sense.compared > 10.0 and signal.quality == "good"
    for node in core.intake.nodes.values():
        yield "counts", node.name, node.seq is not None or node.uptime_s is not None
    yield "no-rejects", "", not any(at - reject.at < QUIET_S for reject in core.latest_rejects)
    yield "no-unknown", "", not core.intake.unknown
    done = {(each["what"], each["of"]) for each in core.calibrating.kept}
    for what, subjects in _choices(core).items():
        for of in subjects:
            if what != "level" or not core.intake.meter:
                yield f"calibrated-{what}", of, (what, of) in done
