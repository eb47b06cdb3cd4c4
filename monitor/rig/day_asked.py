"""From a rig file and a day's figures to the question `planning.day` answers."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from monitor.planning import day, haul
from monitor.planning.supply import Tap
from monitor.rig.model import Pump, Rig
from monitor.tank.level import USUAL_WATER_C, water_density_kg_m3

HALF_WAY = 0.5


class Asked(NamedTuple):
    """A day somebody has in mind. What is None is taken from the rig file."""

    tap: Tap
    water_l: float | None = None
    work_s: float = 4 * 3600.0
    kind: str = "mixed"
    pumps: tuple[str, ...] | None = None
    resumes_l: float | None = None
    draws_l_min: Mapping[str, float] = {}
    """What pumps were seen to draw, where that is known better than the rig file does."""
    seen: Mapping[str, Sequence[day.Worked]] = {}


class Road(NamedTuple):
    """What the water weighs on the road (kg), and the most to tow with (l), None where the rig file does not tell."""

    weighs_kg: float
    most_l: float | None
    surges: bool


def used(rig: Rig, asked: Asked) -> list[Pump]:
    """The pumps asked for, all where none is named. Raises ValueError for a name nobody bears."""
    names = [pump.name for pump in rig.pumps]
    wrong = [name for name in asked.pumps or () if name not in names]
    if wrong:
        raise ValueError(f"no pump is called {', '.join(wrong)}; there are {', '.join(names) or 'none'}")
    return [pump for pump in rig.pumps if asked.pumps is None or pump.name in asked.pumps]


def resumes_l(rig: Rig) -> float:
    """Where a crew that waited goes on, unless it says otherwise: half-way up the band."""
    low_l, high_l = rig.tank.band_l
    return low_l + HALF_WAY * (high_l - low_l)


def water_l(rig: Rig, asked: Asked) -> float:
    return rig.tank.full_l if asked.water_l is None else asked.water_l


def planned(rig: Rig, asked: Asked) -> day.Plan:
    """The plan. Raises ValueError for a pump, a kind of work or an amount of water that is not there."""
    if asked.kind not in day.KINDS:
        raise ValueError(f"no kind of work is called {asked.kind}; there are {', '.join(day.KINDS)}")
    if not 0.0 <= water_l(rig, asked) <= rig.tank.capacity_l:
        raise ValueError("the water is more than the tank holds, or less than none")
    guns = [_gun(pump, asked) for pump in used(rig, asked)]
    stretches = day.stretches(asked.work_s)
    return day.plan(water_l(rig, asked), asked.tap, guns, vessel(rig, asked.resumes_l), stretches)


def vessel(rig: Rig, goes_on_l: float | None = None) -> day.Vessel:
    tank = rig.tank
    valve = rig.supply.float_valve if rig.supply else None
    starts_l, full_l = (valve.starts_closing_l, valve.shut_l) if valve else (tank.full_l, tank.full_l)
    goes_on = resumes_l(rig) if goes_on_l is None else goes_on_l
    return day.Vessel(tank.heel_l, min(max(goes_on, tank.heel_l), full_l), starts_l, full_l)


def road(rig: Rig, litres: float) -> Road:
    density = water_density_kg_m3(USUAL_WATER_C)
    bounds = [rig.tank.tow_limit_l, haul.most_water_l(rig.tow.load, density) if rig.tow else None]
    most_l = min((bound for bound in bounds if bound is not None), default=None)
    return Road(haul.water_kg(litres, density), most_l, haul.surges(litres, rig.tank.capacity_l))


def _gun(pump: Pump, asked: Asked) -> day.Gun:
    draw_l_min = asked.draws_l_min.get(pump.name, pump.draw_l_min)
    share = day.learned(asked.kind, asked.seen.get(pump.name, ()))
    spread = day.SEEN_SPREAD if pump.name in asked.draws_l_min else day.DRAW_SPREAD
    return day.Gun(pump.name, draw_l_min, spread * draw_l_min, share)
