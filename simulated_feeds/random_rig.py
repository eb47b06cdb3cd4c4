"""Rigs drawn at random: tanks of all shapes and sizes, pumps, meters and level sensors, as the text of a rig file."""

from dataclasses import dataclass, field
from math import pi
from random import Random
from typing import Literal

Sensors = Literal["level", "level+meter", "running", "drawing"]
SENSORS: tuple[Sensors, ...] = ("level", "level+meter", "running", "drawing")
_LITRES_PER_GALLON = 3.785


@dataclass
class RandomRig:
    """What a random rig is made of. Volumes in l, flows in l/min, lengths in m."""

    capacity_l: float
    top_m: float
    shape: str
    heel_l: float
    full_l: float
    rates_l_min: list[float]
    level: str
    """The keys of its [tank.level] table, beside the reading."""
    second_level: bool
    slope: bool
    ahead_m: float
    supply: str
    """The keys of its [supply] table, beside the reading and the float valve."""
    float_valve: bool
    nominal_l_min: list[float] = field(default_factory=list)

    @property
    def names(self) -> list[str]:
        return ["North", "South", "West"][: len(self.rates_l_min)]


def random_rig(rng: Random) -> RandomRig:
    """Mostly 1 to 2 m³, two or three pumps of 3 to 8 gpm."""
    small_or_large = rng.random()
    capacity_l = rng.uniform(1000, 2000)
    if small_or_large < 0.15:
        capacity_l = rng.uniform(500, 1000)
    elif small_or_large > 0.85:
        capacity_l = rng.uniform(2000, 3500)
    capacity_l = float(round(capacity_l, -1))
    shape, top_m = _shape(rng, capacity_l)
    rates = [rng.uniform(3.0, 8.0) * _LITRES_PER_GALLON for _ in range(rng.choice((2, 2, 3)))]
    return RandomRig(
        capacity_l=capacity_l,
        top_m=top_m,
        shape=shape,
        heel_l=round(capacity_l * rng.uniform(0.05, 0.12)),
        full_l=round(capacity_l * 0.94),
        rates_l_min=rates,
        level=_level(rng, top_m, capacity_l),
        second_level=rng.random() < 0.1,
        slope=rng.random() < 0.15,
        ahead_m=round(rng.uniform(0.15, 0.5) * rng.choice((-1, 1)), 2),
        supply=_supply(rng),
        float_valve=rng.random() < 0.6,
        nominal_l_min=[round(rate * rng.gauss(1.0, 0.06), 1) for rate in rates],
    )


def _mm(length_m: float) -> str:
    return f'"{length_m * 1000:.0f} mm"'


def _shape(rng: Random, capacity_l: float) -> tuple[str, float]:
    """A shape a little larger than the capacity, and its height."""
    volume = capacity_l / 1000 * 1.015
    kind = rng.choices(
        ("vertical cylinder", "horizontal cylinder", "box", "obround", "elliptical", "upright obround"),
        (30, 25, 15, 15, 10, 5),
    )[0]
    slender = rng.uniform(0.8, 1.5)
    if kind == "vertical cylinder":
        across = (4 * volume / pi / slender) ** (1 / 3)
        top = volume / (pi / 4 * across**2)
        return f'{{ kind = "{kind}", diameter = {_mm(across)}, height = {_mm(top + 0.001)} }}', top
    if kind == "horizontal cylinder":
        across = (4 * volume / pi / (1.3 * slender)) ** (1 / 3)
        return f'{{ kind = "{kind}", diameter = {_mm(across)}, length = {_mm(volume / (pi / 4 * across**2))} }}', across
    width, wide = (volume / slender) ** (1 / 3), rng.uniform(1.1, 1.6)
    top = width / wide
    section = {"box": width * top, "elliptical": pi / 4 * width * top}.get(kind)
    if kind == "upright obround":
        long = width * wide
        top = volume / ((long - width) * width + pi / 4 * width**2)
        return f'{{ kind = "{kind}", length = {_mm(long)}, width = {_mm(width)}, height = {_mm(top + 0.002)} }}', top
    if section is None:
        section = (width - top) * top + pi / 4 * top**2
    long = volume / section
    return f'{{ kind = "{kind}", length = {_mm(long)}, width = {_mm(width)}, height = {_mm(top + 0.002)} }}', top


def _level(rng: Random, top_m: float, capacity_l: float) -> str:
    kind = rng.choices(("height", "distance", "pressure", "current", "volume"), (45, 20, 15, 15, 5))[0]
    if kind == "distance":
        return f'measures = "distance"\nzero = {_mm(top_m + rng.uniform(0.05, 0.3))}'
    if kind == "current":
        return f'measures = "current"\nrange = ["0 mm", {_mm(top_m + 0.2)}]'
    return f'measures = "{kind}"'


def _supply(rng: Random) -> str:
    kind = rng.choices(("total", "pulses", "rate"), (60, 20, 20))[0]
    if kind == "pulses":
        return f'measures = "pulses"\nk_factor = "{rng.choice((10, 45, 450))} /L"'
    return f'measures = "{kind}"'


def rig_text(rig: RandomRig, sensors: Sensors, name: str) -> str:
    """The rig file, with the readings that those sensors give. It holds nominal figures only."""
    usable_l = rig.full_l - rig.heel_l
    parts = [
        f'[rig]\nname = "{name}"\nunits = "metric"\ntimezone = "America/Chicago"',
        f'[tank]\ncapacity = "{rig.capacity_l:.0f} L"\nfull = "{rig.full_l:.0f} L"\nheel = "{rig.heel_l:.0f} L"\n'
        f'band = ["{rig.heel_l + 0.08 * usable_l:.0f} L", "{rig.heel_l + 0.6 * usable_l:.0f} L"]\n'
        f'tow_limit = "{rig.heel_l + 0.3 * usable_l:.0f} L"\nshape = {rig.shape}',
        *_level_tables(rig),
        _supply_table(rig, sensors),
        *(_pump_table(rig, i, sensors) for i in range(len(rig.names))),
        '[extra]\nmotion = "tank/motion"' + ('\nslope = "tank/slope"' if rig.slope else ""),
        '[warn]\nact_time = "2 min"',
        '[[feed]]\nmqtt = "mqtt://127.0.0.1:1883"\ntopics = ["holdwater/+/readings"]',
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _level_tables(rig: RandomRig) -> list[str]:
    ahead = f"\nahead = {_mm(rig.ahead_m)}" if rig.slope or rig.second_level else ""
    if not rig.second_level:
        return [f'[tank.level]\nreading = "tank/level"\n{rig.level}{ahead}']
    aft = f"\nahead = {_mm(-rig.ahead_m)}"
    return [
        f'[[tank.level]]\nreading = "tank/level"\n{rig.level}{ahead}',
        f'[[tank.level]]\nreading = "aft/level"\n{rig.level}{aft}',
    ]


def _supply_table(rig: RandomRig, sensors: Sensors) -> str:
    marks = f'{{ starts_closing = "{rig.full_l * 0.88:.0f} L", shut = "{rig.full_l:.0f} L" }}'
    valve = f"\nfloat_valve = {marks}" if rig.float_valve else ""
    if sensors == "level":
        return f"[supply]{valve}" if valve else ""
    return f'[supply]\nreading = "inlet/flow"\n{rig.supply}{valve}'


def _pump_table(rig: RandomRig, i: int, sensors: Sensors) -> str:
    name = rig.names[i]
    node = name.lower()
    table = f'[[pump]]\nname = "{name}"\ndraw = "{rig.nominal_l_min[i]} L/min"'
    if sensors in ("running", "drawing"):
        table += f'\nrunning = "{node}/running"'
    if sensors == "drawing":
        table += f'\ndrawing = "{node}/drawing"'
    return table
