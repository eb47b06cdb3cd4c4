"""What a level sensor means, against published densities, speeds of sound and current scales."""

from math import radians, tan
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.tank.level import (
    Around,
    Level,
    Measures,
    Range,
    head_m,
    level,
    levelled,
    middle_height_m,
    scaled,
    slope,
    speed_of_sound_m_s,
    true_distance_m,
    water_density_kg_m3,
)
from monitor.tank.strapping import Strapping

FT = 0.3048
TABLE = Strapping([(0.0, 0.0), (2.0, 1000.0)])
NOWHERE = Around()


class Sensor(NamedTuple):
    measures: Measures
    zero_m: float | None = None
    offset_m: float = 0.0
    scale: float = 1.0
    range: Range | None = None
    absolute: bool = False
    assumed_c: float | None = None


@pytest.mark.parametrize(
    ("water_c", "iapws_kg_m3"),
    [(4, 999.975), (10, 999.702), (15, 999.103), (20, 998.207), (25, 997.048), (30, 995.649), (40, 992.216)],
)
def test_density_of_water(water_c: float, iapws_kg_m3: float) -> None:
    """IAPWS-95 at 1 atm."""
    assert water_density_kg_m3(water_c) == pytest.approx(iapws_kg_m3, abs=0.01)


def test_density_is_not_the_misprinted_one() -> None:
    """With 16.897850e-3 in the divisor, a common misprint, water at 20 °C comes out 0.27 kg/m³ too light."""
    divisor, misprinted = 1 + 16.879850e-3 * 20, 1 + 16.897850e-3 * 20
    wrong = water_density_kg_m3(20) * divisor / misprinted
    assert wrong - 998.207 == pytest.approx(-0.27, abs=0.01)
    assert abs(water_density_kg_m3(20) - 998.207) < 0.01


@pytest.mark.parametrize(("water_f", "lb_gal"), [(39.2, 8.3452), (60, 8.3372), (70, 8.3285), (100, 8.2874)])
def test_weight_of_a_gallon(water_f: float, lb_gal: float) -> None:
    """IAPWS-95 with NIST's factors: 8.345 lb is water at 39 °F, 8.34 a round figure."""
    kg = water_density_kg_m3((water_f - 32) / 1.8) * 0.003785411784
    assert kg / 0.45359237 == pytest.approx(lb_gal, abs=0.0005)


def test_outside_liquid_water_density_stays_at_its_bound() -> None:
    assert water_density_kg_m3(-20) == water_density_kg_m3(0)
    assert water_density_kg_m3(500) == water_density_kg_m3(100) == pytest.approx(958.4, abs=0.1)


@pytest.mark.parametrize(("air_c", "m_per_s"), [(-20, 318.93), (0, 331.29), (20, 343.2), (40, 354.71), (35, 351.875)])
def test_speed_of_sound(air_c: float, m_per_s: float) -> None:
    """ISO 9613-1 (from memory); dry air by CoolProp is within 0.05 %."""
    assert speed_of_sound_m_s(air_c) == pytest.approx(m_per_s, rel=1e-3)


@pytest.mark.parametrize(("milliamps", "feet"), [(4, 0), (8, 2.5), (12, 5), (20, 10), (3.8, -0.125), (20.5, 10.3125)])
def test_a_current_loop_is_linear(milliamps: float, feet: float) -> None:
    """IEC 60381-1: 0 to 10 ft on 4 to 20 mA."""
    assert scaled(milliamps / 1000, 0.0, 10 * FT) / FT == pytest.approx(feet, abs=1e-9)


@pytest.mark.parametrize(
    ("milliamps", "verdict", "why"),
    [
        (0.0, "bad", "current-low"),
        (3.6, "bad", "current-low"),
        (3.7, "uncertain", "under-range"),
        (3.8, "good", ""),
        (12.0, "good", ""),
        (20.5, "good", ""),
        (20.7, "uncertain", "over-range"),
        (21.0, "bad", "current-high"),
        (22.0, "bad", "current-high"),
    ],
)
def test_currents_by_namur_ne_43(milliamps: float, verdict: str, why: str) -> None:
    """NAMUR NE 43 (from memory): 3.8 to 20.5 mA measures, up to 3.6 and from 21 mA tells a failure."""
    sensor = Sensor("current", range=Range(0.0, 2.0, "length"))
    found = level(sensor, milliamps / 1000, NOWHERE, TABLE)
    assert (found.verdict, found.why) == (verdict, why)
    assert (found.height_m is None) == (verdict == "bad")


@pytest.mark.parametrize(
    ("sensor", "value", "around", "height_m"),
    [
        (Sensor("height"), 0.6, NOWHERE, 0.6),
        (Sensor("height", offset_m=0.05), 0.6, NOWHERE, 0.65),
        (Sensor("distance", zero_m=1.2), 0.5, NOWHERE, 0.7),
        (Sensor("distance", zero_m=1.2, assumed_c=20.0), 0.5, NOWHERE, 0.7),
        (Sensor("distance", zero_m=1.2, assumed_c=20.0), 0.5, Around(air_c=20.0), 0.7),
        (Sensor("distance", zero_m=1.2, assumed_c=20.0), 0.5, Around(air_c=40.0), 1.2 - 0.5 * 354.71 / 343.2),
        (Sensor("distance", zero_m=1.2), 0.5, Around(air_c=40.0), 0.7),
        (Sensor("pressure"), 9791.0, Around(water_c=20.0), 1.0002),
        (Sensor("pressure", offset_m=0.04), 9791.0, Around(water_c=20.0), 1.0402),
        (Sensor("pressure", absolute=True), 109_791.0, Around(20.0, None, 100_000.0), 1.0002),
        (Sensor("volume"), 250.0, NOWHERE, 0.5),
        (Sensor("current", range=Range(0.0, 1.6, "length")), 0.012, NOWHERE, 0.8),
        (Sensor("current", range=Range(1.6, 0.0, "length")), 0.008, NOWHERE, 1.2),
        (Sensor("current", zero_m=1.8, range=Range(0.0, 1.6, "length")), 0.012, NOWHERE, 1.0),
        (Sensor("current", range=Range(0.0, 19_582.0, "pressure")), 0.012, Around(water_c=20.0), 1.0002),
        (Sensor("current", range=Range(0.0, 1000.0, "volume")), 0.012, NOWHERE, 1.0),
    ],
)
def test_each_way_of_measuring(sensor: Sensor, value: float, around: Around, height_m: float) -> None:
    """9791 Pa is a metre of water at 20 °C: 998.207 kg/m³ (IAPWS-95) × 9.80665 m/s² = 9789.1 Pa."""
    found = level(sensor, value, around, TABLE)
    assert found.height_m == pytest.approx(height_m, abs=2e-4)
    assert found.verdict == "good"


def test_an_absolute_sensor_says_nothing_without_a_barometer() -> None:
    sensor = Sensor("pressure", absolute=True)
    assert level(sensor, 110_000.0, NOWHERE, TABLE) == Level(None, "bad", "no-barometer")


def test_a_psi_is_27_7_inches_of_cold_water() -> None:
    """NIST SP 811 B.8: an inch of water at 39.2 °F is 249.082 Pa, a psi 6894.757 Pa."""
    assert head_m(249.082, 4.0) == pytest.approx(0.0254, rel=1e-5)
    assert head_m(6894.757, 4.0) / 0.0254 == pytest.approx(27.68, abs=0.01)


def test_ten_degrees_are_almost_two_percent_of_the_distance() -> None:
    assert true_distance_m(1.0, 20.0, 30.0) == pytest.approx(1.017, abs=5e-4)


@pytest.mark.parametrize(
    ("value", "unit", "ratio"),
    [(0.02, "", 0.02), (0.02, "%", 0.02), (0.02, "rad", tan(0.02)), (2.0, "deg", tan(radians(2.0)))],
)
def test_slope_readings(value: float, unit: str, ratio: float) -> None:
    """SenML's "%" is itself a ratio (RFC 8428 12.1)."""
    assert slope(value, unit) == pytest.approx(ratio)


def test_with_the_nose_up_the_water_stands_lower_ahead() -> None:
    assert middle_height_m(0.48, 0.5, 0.04) == pytest.approx(0.50)
    assert middle_height_m(0.52, -0.5, 0.04) == pytest.approx(0.50)


@given(st.floats(0.1, 1.5), st.floats(-0.1, 0.1), st.floats(-2.0, 2.0), st.floats(0.1, 2.0))
def test_two_sensors_tell_height_and_slope(middle_m: float, nose_up: float, at_m: float, apart_m: float) -> None:
    first, second = (at_m, middle_m - at_m * nose_up), (at_m + apart_m, middle_m - (at_m + apart_m) * nose_up)
    height_m, found = levelled(first[::-1], second[::-1])
    assert height_m == pytest.approx(middle_m, abs=1e-9)
    assert found == pytest.approx(nose_up, abs=1e-9)


def test_two_sensors_at_one_place_give_their_mean() -> None:
    assert levelled((0.5, 0.2), (0.6, 0.2)) == (pytest.approx(0.55), None)
