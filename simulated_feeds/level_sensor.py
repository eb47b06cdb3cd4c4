"""Level sensors: how the height of the water becomes a distance, a pressure, a current or a volume, and goes wrong."""

from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import sqrt
from typing import Any, Protocol

from simulated_feeds.sensor import Instant, Sensor, Value, stepped
from simulated_feeds.tank import Tank
from simulated_feeds.units import BadScenario, amount
from simulated_feeds.weather import Weather

_DENSITY = ((0.0, 999.84), (10.0, 999.70), (20.0, 998.21), (30.0, 995.65), (40.0, 992.22), (60.0, 983.20))
_GRAVITY = 9.80665


def water_kg_m3(water_c: float) -> float:
    """Density of water, straight between the handbook's values at each ten degrees."""
    i = min(max(bisect_right(_DENSITY, (water_c, 0.0)), 1), len(_DENSITY) - 1)
    (cold, heavy), (warm, light) = _DENSITY[i - 1], _DENSITY[i]
    return heavy + (light - heavy) * (water_c - cold) / (warm - cold)


def sound_m_s(air_c: float) -> float:
    """Speed of sound in dry air."""
    return 331.3 * sqrt(1.0 + air_c / 273.15)


class Signal(Protocol):
    """Turns a height of water over the floor, in m, into a unit and an amount in it."""

    unit: str
    step: float
    beyond: float
    """What it sends when it is out of its range."""

    def amount(self, height_m: float, at_s: float) -> float: ...


@dataclass
class Heights:
    offset_m: float = 0.0
    unit: str = "m"
    step: float = 0.001
    beyond: float = -0.35

    def amount(self, height_m: float, at_s: float) -> float:
        return height_m - self.offset_m


@dataclass
class Distances:
    """An echo sensor looking down from `zero_m`; one that `assumes_c` reckons with the sound of that temperature."""

    zero_m: float
    weather: Weather
    assumes_c: float | None = None
    unit: str = "m"
    step: float = 0.001
    beyond: float = 9.999

    def amount(self, height_m: float, at_s: float) -> float:
        distance = self.zero_m - height_m
        if self.assumes_c is None:
            return distance
        return distance * sound_m_s(self.assumes_c) / sound_m_s(self.weather.air_c(at_s))


@dataclass
class Pressures:
    """A pressure sensor `offset_m` over the floor, gauge or absolute."""

    weather: Weather
    offset_m: float = 0.0
    absolute: bool = False
    unit: str = "Pa"
    step: float = 10.0
    beyond: float = -30_000.0

    def amount(self, height_m: float, at_s: float) -> float:
        head_m = max(height_m - self.offset_m, 0.0)
        air_pa = self.weather.pressure_pa(at_s) if self.absolute else 0.0
        return air_pa + water_kg_m3(self.weather.water_c(at_s)) * _GRAVITY * head_m


@dataclass
class Currents:
    """A 4–20 mA loop whose ends mean `low` and `high` of another signal; it saturates at 3.8 and 20.5 mA."""

    of: Callable[[float, float], float]
    low: float
    high: float
    unit: str = "A"
    step: float = 0.000_004
    beyond: float = 0.0215

    def amount(self, height_m: float, at_s: float) -> float:
        share = (self.of(height_m, at_s) - self.low) / (self.high - self.low)
        return min(max(0.004 + 0.016 * share, 0.0038), 0.0205)


@dataclass
class Volumes:
    tank: Tank
    unit: str = "l"
    step: float = 1.0
    beyond: float = -50.0

    def amount(self, height_m: float, at_s: float) -> float:
        return self.tank.volume_l(height_m)


def signal_of(row: Mapping[str, Any], tank: Tank, weather: Weather) -> Signal:
    """The signal of a rig file's [tank.level] table."""
    measures = str(row.get("measures", "height"))
    offset_m = amount(row.get("offset", 0.0))
    if measures == "height":
        return Heights(offset_m)
    if measures == "volume":
        return Volumes(tank)
    if measures == "pressure":
        return Pressures(weather, offset_m, bool(row.get("absolute", False)))
    if measures == "distance":
        assumes = row.get("assumes")
        return Distances(amount(row.get("zero", tank.top_m)), weather, None if assumes is None else amount(assumes))
    if measures == "current":
        return _current(row, tank, weather, offset_m)
    expected = "height, distance, pressure, current or volume"
    raise BadScenario(f'[tank.level] measures: found "{measures}", expected {expected}')


def _current(row: Mapping[str, Any], tank: Tank, weather: Weather, offset_m: float) -> Signal:
    low, high = (amount(end, "[tank.level] range") for end in row["range"])
    unit = str(row["range"][0]).split()[-1]
    if unit in ("psi", "kPa", "bar"):
        return Currents(Pressures(weather, offset_m, bool(row.get("absolute", False))).amount, low, high)
    if unit in ("gal", "L", "l", "m3"):
        return Currents(Volumes(tank).amount, low, high)
    return Currents(Heights(offset_m).amount, low, high)


@dataclass
class LevelSensor(Sensor):
    """A level sensor. All its errors are in m of water height, whatever it measures."""

    tank: Tank = field(kw_only=True)
    signal: Signal = field(kw_only=True)
    noise_m: float = 0.002
    vibration: float = 0.2
    """How much each running engine adds to the noise."""
    bias_m: float = 0.0
    ahead_m: float = 0.0
    """How far it sits from the tank's middle along the slope of the ground."""
    slosh_share: float = 0.6
    strays: float = 0.0
    """Share of samples at which a stray echo begins; it stands for a few samples."""
    zeros_after_boot: int = 0
    """How many samples of nothing it gives after its node has started again."""
    _zeros_left: int = 0
    _stray_m: float = 0.0
    _strays_left: int = 0
    _held_m: float | None = None

    def value(self, now: Instant) -> Value:
        noise_m = self.rng.gauss(0.0, self.noise_m) * (1.0 + self.vibration * sum(now.segment.engine))
        signal, ills = self.signal, self.ills
        if self._zeros_left:
            self._zeros_left -= 1
            return {"u": signal.unit, "v": 0.0}
        if ills.out_of_range:
            return {"u": signal.unit, "v": signal.beyond}
        height_m = self._seen_m(now, noise_m)
        return {"u": signal.unit, "v": stepped(signal.amount(height_m, now.at_s), signal.step)}

    def true_m(self, now: Instant) -> float:
        """The height of the water right at the sensor."""
        segment = now.segment
        level_m = self.tank.height_m(segment.volume_at(now.at_s)) - self.ahead_m * segment.slope
        return level_m + self.slosh_share * now.swing.height_m(now.at_s)

    def reboot(self) -> None:
        self._zeros_left = self.zeros_after_boot

    def _seen_m(self, now: Instant, noise_m: float) -> float:
        ills = self.ills
        if ills.stuck:
            return self._stuck_m(now, noise_m)
        self._held_m = None
        if ills.echo_m is not None:
            return ills.echo_m + 0.5 * noise_m
        if self.strays and self._stray(now):
            return self._stray_m + noise_m
        return self.true_m(now) + self.bias_m + ills.error(now.at_s) + noise_m

    def _stuck_m(self, now: Instant, noise_m: float) -> float:
        """Stands where it was: to the digit, or trembling as if it were alive."""
        if self._held_m is None:
            self._held_m = self.true_m(now) + self.bias_m + noise_m
        return self._held_m + noise_m if self.ills.trembles else self._held_m

    def _stray(self, now: Instant) -> bool:
        if self._strays_left > 0:
            self._strays_left -= 1
        elif self.rng.random() < self.strays:
            self._strays_left = self.rng.randrange(3)
            self._stray_m = self.true_m(now) * self.rng.uniform(0.2, 1.3) + self.rng.uniform(-0.05, 0.1)
        else:
            return False
        return True
