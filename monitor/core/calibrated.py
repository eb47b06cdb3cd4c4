"""The rig as the file says, with what was calibrated in the place of what the file says.

A calibration keeps what the file said when it was made, and counts for as long as the file still says that: an owner
who changes the file has the last word, and what `holdwater adopt` has written into it counts no second time.
"""

from collections.abc import Iterable
from typing import Any, Literal

from monitor.rig.model import Pump, Rig
from monitor.rig.tank_tables import LevelSignal, Tank

What = Literal["fill", "bucket", "level", "draw"]
Kept = dict[str, Any]
"""One calibration as the state file has it: what, of, at, by, file, before, after, spread, figures."""


def on_file(rig: Rig, what: str, of: str) -> Any:
    """What the rig has in the place that a calibration changes, as plain JSON. Raises LookupError for no such place."""
    if what == "fill":
        rows = rig.tank.rows
        return [str(rig.tank.shape)] if rows is None else [list(row) for row in rows]
    if what == "bucket":
        if rig.supply is None or rig.supply.reading is None:
            raise LookupError("no meter")
        return rig.supply.k_factor_per_l or rig.supply.meter_factor
    if what == "level":
        level = next((level for level in rig.tank.levels if level.reading == of), None)
        if level is None:
            raise LookupError(of)
        return [level.scale, level.offset_m]
    pump = next((pump for pump in rig.pumps if pump.name == of), None)
    if what != "draw" or pump is None:
        raise LookupError(of)
    return pump.draw_l_min


def in_force(rig: Rig, kept: Iterable[Kept]) -> list[Kept]:
    """The latest calibration of each thing, where the file still says what it said then. `rig` as on file."""
    latest = {(each["what"], each["of"]): each for each in kept}
    return [each for each in latest.values() if _still(rig, each)]


def _still(rig: Rig, each: Kept) -> bool:
    try:
        return bool(on_file(rig, each["what"], each["of"]) == each["file"])
    except LookupError:
        return False


def calibrated(rig: Rig, kept: Iterable[Kept]) -> Rig:
    """`rig` as on file, with the calibrations in force applied."""
    for each in in_force(rig, kept):
        rig = _applied(rig, each["what"], each["of"], each["after"])
    return rig


def _applied(rig: Rig, what: str, of: str, after: Any) -> Rig:
    if what == "fill":
        return rig.model_copy(update={"tank": _strapped(rig.tank, after)})
    if what == "level":
        levels = tuple(_corrected(level, *after) if level.reading == of else level for level in rig.tank.levels)
        return rig.model_copy(update={"tank": _fresh(rig.tank, levels=levels)})
    if what == "draw":
        pumps = tuple(_drawing(pump, after) if pump.name == of else pump for pump in rig.pumps)
        return rig.model_copy(update={"pumps": pumps})
    if rig.supply is None:
        return rig
    key = "k_factor_per_l" if rig.supply.k_factor_per_l else "meter_factor"
    return rig.model_copy(update={"supply": rig.supply.model_copy(update={key: after})})


def _strapped(tank: Tank, rows: Any) -> Tank:
    return _fresh(tank, rows=tuple((row[0], row[1]) for row in rows))


def _fresh(tank: Tank, **changes: Any) -> Tank:
    """A copy without what the old one had worked out."""
    copy = tank.model_copy(update=changes)
    for worked_out in ("strapping", "outline"):
        copy.__dict__.pop(worked_out, None)
    return copy


def _corrected(level: LevelSignal, scale: float, offset_m: float) -> LevelSignal:
    return level.model_copy(update={"scale": scale, "offset_m": offset_m})


def _drawing(pump: Pump, draw_l_min: float) -> Pump:
    return pump.model_copy(update={"draw_l_min": draw_l_min})
