"""What a level sensor means: its reading to the height of the water over the tank's floor.

Heights and distances in m, pressures in Pa, currents in A, volumes in l, temperatures in °C.
"""

from math import radians, sqrt, tan
from typing import Literal, NamedTuple, Protocol

from monitor.tank.outlet import G_M_S2
from monitor.tank.strapping import Strapping

Measures = Literal["height", "distance", "pressure", "current", "volume"]
Verdict = Literal["good", "uncertain", "bad"]

USUAL_WATER_C = 15.0
"""Taken where no water temperature is read: from 5 to 30 °C a pressure sensor is then off by less than 0.35 %."""

# NAMUR NE 43: what a 4-20 mA transmitter may say [A]
NE43_FAULT_LOW, NE43_LOW, NE43_HIGH, NE43_FAULT_HIGH = 0.0036, 0.0038, 0.0205, 0.021
_ROUNDING_A = 1e-9


class Range(NamedTuple):
    """What a current loop means at 4 and at 20 mA, in the unit of `of` (m, Pa or l). It may fall."""

    at_4_ma: float
    at_20_ma: float
    of: Literal["length", "pressure", "volume"]


class Sensor(Protocol):
    """What must be known about a sensor to convert its readings."""

    @property
    def measures(self) -> Measures: ...
    @property
    def zero_m(self) -> float | None:
        """How high over the floor a distance is counted from."""

    @property
    def offset_m(self) -> float:
        """Added to every height: how high over the floor a height or pressure sensor sits."""

    @property
    def scale(self) -> float:
        """Heights are multiplied by it before the offset is added: 1 unless a calibration found otherwise."""

    @property
    def range(self) -> Range | None: ...
    @property
    def absolute(self) -> bool:
        """The pressure includes the air's."""

    @property
    def assumed_c(self) -> float | None:
        """The air temperature an echo sensor reckons with; None where it measures its own."""


class Around(NamedTuple):
    """What else is known at the moment; None where it is not."""

    water_c: float | None = None
    air_c: float | None = None
    barometer_pa: float | None = None


class Level(NamedTuple):
    """A height over the floor, or None where the reading gives none; `why` is a key for the reason."""

    height_m: float | None
    verdict: Verdict = "good"
    why: Literal["", "current-low", "current-high", "under-range", "over-range", "no-barometer"] = ""


def level(sensor: Sensor, value: float, around: Around, table: Strapping) -> Level:
    """The height that a sensor's reading stands for.

    `value` is in the unit of what the sensor measures: m, Pa, A or l. A current is judged by NAMUR NE 43: at 3.6 mA
    and below or 21 mA and above the sensor reports its own failure and gives no height; outside 3.8 to 20.5 mA
    it has run out of its range, and the height is uncertain.
    """
    if sensor.measures != "current":
        return _height(sensor, sensor.measures, value, around, table)
    verdict, why = _ne43(value)
    if verdict == "bad" or sensor.range is None:
        return Level(None, "bad", why)
    amount = scaled(value, sensor.range.at_4_ma, sensor.range.at_20_ma)
    height = _height(sensor, _behind_the_loop(sensor, sensor.range), amount, around, table)
    return height if verdict == "good" or height.height_m is None else Level(height.height_m, verdict, why)


def _behind_the_loop(sensor: Sensor, range_: Range) -> Measures:
    """What the sensor at the end of a current loop measures."""
    if range_.of != "length":
        return range_.of
    return "height" if sensor.zero_m is None else "distance"


def _ne43(current_a: float) -> tuple[Verdict, Literal["", "current-low", "current-high", "under-range", "over-range"]]:
    """NAMUR NE 43 (from memory): 3.8 to 20.5 mA carries the measurement, up to 3.6 and from 21 mA a failure."""
    if current_a <= NE43_FAULT_LOW + _ROUNDING_A:
        return "bad", "current-low"
    if current_a >= NE43_FAULT_HIGH - _ROUNDING_A:
        return "bad", "current-high"
    if current_a < NE43_LOW - _ROUNDING_A:
        return "uncertain", "under-range"
    return ("uncertain", "over-range") if current_a > NE43_HIGH + _ROUNDING_A else ("good", "")


def _height(sensor: Sensor, measures: Measures, value: float, around: Around, table: Strapping) -> Level:
    if measures == "volume":
        return Level(table.height_m(value))
    if measures == "distance":
        return _set(sensor, (sensor.zero_m or 0.0) - true_distance_m(value, sensor.assumed_c, around.air_c))
    if measures == "height":
        return _set(sensor, value)
    if not sensor.absolute:
        return _set(sensor, head_m(value, around.water_c))
    if around.barometer_pa is None:
        return Level(None, "bad", "no-barometer")
    return _set(sensor, head_m(value - around.barometer_pa, around.water_c))


def _set(sensor: Sensor, height_m: float) -> Level:
    """As two points set the sensor right: scaled, then shifted to the floor."""
    return Level(sensor.scale * height_m + sensor.offset_m)


def scaled(current_a: float, at_4_ma: float, at_20_ma: float) -> float:
    """The amount a loop current [A] stands for: linear, at_4_ma at 4 mA, at_20_ma at 20 mA. Source: IEC 60381-1."""
    return at_4_ma + (at_20_ma - at_4_ma) * (current_a - 0.004) / 0.016


def true_distance_m(said_m: float, assumed_c: float | None, air_c: float | None) -> float:
    """The distance [m] behind an echo sensor's reading, d = d' c(T) / c(T'): T the air's, T' the assumed temperature.

    As it stands where the sensor measures its own temperature (`assumed_c` None), or where the air's is unknown.
    10 °C of difference are 1.7 % of the distance.
    """
    if assumed_c is None or air_c is None:
        return said_m
    return said_m * speed_of_sound_m_s(air_c) / speed_of_sound_m_s(assumed_c)


def speed_of_sound_m_s(air_c: float) -> float:
    """The speed of sound in air [m/s], c = 343.2 √(T / 293.15 K), for `air_c` [°C] from -20 to 50.

    Dry air; at 100 % humidity sound is up to 0.5 % faster at 40 °C. At 20 °C 343.2 m/s. Source: ISO 9613-1:1993.
    """
    return 343.2 * sqrt(max(air_c + 273.15, 0.0) / 293.15)


def head_m(pressure_pa: float, water_c: float | None = None) -> float:
    """The height of water [m] over a gauge pressure sensor, h = p / (ρ g); `water_c` None: at 15 °C."""
    return pressure_pa / (water_density_kg_m3(USUAL_WATER_C if water_c is None else water_c) * G_M_S2)


def water_density_kg_m3(water_c: float) -> float:
    """The density of air-free water at 1 atm [kg/m³] for `water_c` [°C] from 0 to 100; outside, that of the bound.

        ρ = (999.83952 + 16.945176 t - 7.9870401e-3 t² - 46.170461e-6 t³ + 105.56302e-9 t⁴ - 280.54253e-12 t⁵)
            / (1 + 16.879850e-3 t)

    At 20 °C 998.2 kg/m³. The divisor's 16.879850e-3 is often misprinted as 16.897850e-3, which is 0.3 kg/m³ low.

    Source: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97-105, within 0.01 kg/m³ of IAPWS-95 up to 40 °C.
    """
    t = min(max(water_c, 0.0), 100.0)
    above = 999.83952 + t * (16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6)))
    return (above + t**4 * (105.56302e-9 - 280.54253e-12 * t)) / (1 + 16.879850e-3 * t)


def slope(value: float, unit: str) -> float:
    """A slope reading as a ratio, rise over run, positive where the trailer's nose is up.

    `unit` as the record carries it: ``rad``, ``deg``, ``%`` (SenML's, which is itself a ratio) or none for a ratio.
    """
    if unit == "deg":
        return tan(radians(value))
    return tan(value) if unit == "rad" else value


def middle_height_m(height_m: float, ahead_m: float, nose_up: float) -> float:
    """The height at the tank's middle [m], from a sensor `ahead_m` of it [m] on a trailer that slopes.

    With the nose up by `nose_up` (a ratio) the water stands lower ahead: h = h' + a s. True while the surface meets
    neither floor nor crown; the volume then is that of the middle height for tanks of upright ends.
    """
    return height_m + ahead_m * nose_up


def levelled(first: tuple[float, float], second: tuple[float, float]) -> tuple[float, float | None]:
    """(height at the tank's middle [m], nose-up slope as a ratio) from two sensors, each (height [m], ahead [m]).

    Two sensors at the same place give their mean and no slope.
    """
    (height_a, ahead_a), (height_b, ahead_b) = first, second
    if ahead_a == ahead_b:
        return (height_a + height_b) / 2, None
    nose_up = (height_a - height_b) / (ahead_b - ahead_a)
    return middle_height_m(height_a, ahead_a, nose_up), nose_up
