"""Upkeep: services due by hours and by date, a pump's draw over the season, and frost.

The maker's manual is the authority for every interval; those in the rig file are the owner's.
"""

from collections.abc import Sequence
from statistics import median
from typing import Literal, NamedTuple

SOON = 0.9  # of the interval
STEADY = 0.05  # a draw changed by less than this share is no change: a meter of class 2 errs by 0.02, the rest by wear
SUDDEN = 0.5  # so much of a change within one visit came at once
LEAST_VISITS = 6
FREEZES_C = 0.0
NEAR_FREEZING_C = 3.0  # air at a house's thermometer and pipe in the wind differ; common practice, no published source
TONIGHT = ("drain_tank_and_lines", "blow_out_guns", "antifreeze_pump", "sensors_dry", "engine_off_if_inside")

Due = Literal["fine", "soon", "due"]
Draw = Literal["too few", "steady", "fell at once", "falls", "rises"]


class Service(NamedTuple):
    """How often: by hours run, by days, or by what comes first."""

    name: str
    every_h: float | None = None
    every_days: float | None = None


def due(service: Service, ran_h: float, days: float) -> Due:
    """Where a service stands so many hours run and so many days after it was last done."""
    by_hours = ran_h / service.every_h if service.every_h else 0.0
    most = max(by_hours, days / service.every_days if service.every_days else 0.0)
    return "due" if most >= 1.0 else "soon" if most >= SOON else "fine"


class Season(NamedTuple):
    """A verdict on a pump's draw, and the change as a share of what it was."""

    verdict: Draw
    change: float
    look_at: tuple[str, ...] = ()


def season(draws_l_min: Sequence[float]) -> Season:
    """A pump's median draw at each visit, oldest first. What changed it is a list of suspects, no finding."""
    if len(draws_l_min) < LEAST_VISITS:
        return Season("too few", 0.0)
    third = len(draws_l_min) // 3
    before, after = median(draws_l_min[:third]), median(draws_l_min[-third:])
    change = after / before - 1.0
    if abs(change) < STEADY:
        return Season("steady", change)
    if change > 0.0:
        return Season("rises", change, ("nozzle_worn_or_larger", "unloader"))
    if _at_once(draws_l_min, before - after):
        return Season("fell at once", change, ("strainer", "kinked_suction", "belt", "smaller_nozzle"))
    return Season("falls", change, ("valves", "packings", "belt", "strainer"))


def nozzle_worn(draw: Season, pressure: Season) -> bool:
    """Pressure that goes while the pump takes what it took: the nozzle lets more through. Where the draw goes too, it
    is the pump. A pump of pistons gives the same flow into a wider nozzle at less pressure (common practice)."""
    return pressure.verdict in ("falls", "fell at once") and draw.verdict in ("steady", "rises")


def _at_once(draws: Sequence[float], fell: float) -> bool:
    """Whether most of the change came between two visits, and every visit after stayed below all before."""
    return any(
        max(draws[n:]) < min(draws[:n]) and min(draws[:n]) - max(draws[n:]) >= SUDDEN * fell
        for n in range(1, len(draws))
    )


def freeze(coldest_c: float) -> tuple[Literal["no", "near", "freezes"], tuple[str, ...]]:
    """What the coldest air of the night asks for, and what to do tonight. Never run an engine to warm a closed room."""
    if coldest_c > NEAR_FREEZING_C:
        return "no", ()
    return ("freezes" if coldest_c <= FREEZES_C else "near"), TONIGHT
