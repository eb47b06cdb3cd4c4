"""What people write and read, every unit held against pint."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.quantities import SHOWN, UNITS, BadQuantity, read, units_of, write, write_time

REGISTRY = pint.UnitRegistry()
# how pint spells a person's unit, and the program's own unit of its dimension
IN_PINT = {
    "gal": "US_liquid_gallon", "L": "liter", "l": "liter", "m3": "meter**3", "gpm": "US_liquid_gallon/minute",
    "L/min": "liter/minute", "l/min": "liter/minute", "l/s": "liter/second", "in": "inch", "ft": "foot",
    "mm": "millimeter", "cm": "centimeter", "m": "meter", "s": "second", "min": "minute", "h": "hour", "psi": "psi",
    "kPa": "kilopascal", "bar": "bar", "°F": "degree_Fahrenheit", "°C": "degree_Celsius", "A": "ampere",
    "mA": "milliampere", "lb": "avoirdupois_pound", "kg": "kilogram", "Hz": "1/second", "/gal": "1/US_liquid_gallon",
    "/L": "1/liter",
}  # fmt: skip
INSIDE = {
    "volume": "liter", "flow": "liter/minute", "length": "meter", "time": "second", "pressure": "pascal",
    "temperature": "degree_Celsius", "current": "ampere", "mass": "kilogram", "frequency": "1/second",
    "k_factor": "1/liter",
}  # fmt: skip


def test_every_unit_is_held_against_pint():
    assert set(IN_PINT) == set(UNITS)


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("number", [0.0, 1.0, -3.25, 1234.5])
def test_a_unit_is_what_pint_says(unit, number):
    dimension = UNITS[unit][0]
    expected = REGISTRY.Quantity(number, IN_PINT[unit]).to(INSIDE[dimension]).magnitude
    assert read(f"{number} {unit}", dimension) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("7 gpm", "flow", 26.497882), ("320 gal", "volume", 1211.331771), ("66 in", "length", 1.6764),
        ("2 min", "time", 120.0), ("60 °F", "temperature", 15.555556), ("1700 /gal", "k_factor", 449.092489),
        ("7gpm", "flow", 26.497882), ("  .5  gal ", "volume", 1.892706), ("+1e2 L", "volume", 100.0),
        ("-4 °C", "temperature", -4.0), ("3/8 in", "length", 0.009525), ("1 1/2 in", "length", 0.0381),
        ("1-1/4in", "length", 0.03175),
    ],
)  # fmt: skip
def test_what_people_write(text, dimension, value):
    assert read(text, dimension) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("7", "no unit"), ("7 psi", "which is a pressure"), ("7 gallons", '"7 gallons"'), ("gal", '"gal"'), ("", '""'),
        ("7,5 gal", '"7,5 gal"'), ("nan gal", '"nan gal"'), ("inf gal", '"inf gal"'), ("1e999 gal", '"1e999 gal"'),
        ("3/0 in", '"3/0 in"'), ("3/8", "no unit"), ("-3/8 in", '"-3/8 in"'), ("3/8/2 in", '"3/8/2 in"'),
        ("0x10 gal", '"0x10 gal"'), (7, "7"), (None, "None"), (True, "True"), (["7 gal"], "7 gal"),
    ],
)  # fmt: skip
def test_what_is_no_quantity_is_refused_with_what_would_be(text, says):
    with pytest.raises(BadQuantity) as bad:
        read(text, "volume")
    assert says in bad.value.found
    assert bad.value.expected == "a volume with its unit: gal, L, l, m3"


@pytest.mark.parametrize("place", SHOWN)
def test_what_is_written_is_read_back_to_its_decimals(place):
    dimension, system = place
    unit, decimals = SHOWN[place]
    factor = UNITS[unit][1]
    for value in (0.0, 1.2345, 654.321):
        assert abs(read(write(value, dimension, system), dimension) - value) <= 0.5001 * factor * 10.0**-decimals


@given(st.floats(-1e6, 1e6))
def test_the_more_decimals_the_nearer(value):
    assert read(write(value, "volume", "us", 6), "volume") == pytest.approx(value, abs=2e-6 * 3.79)


def test_every_dimension_is_shown_in_both_systems_in_a_unit_of_its_own():
    for dimension in {of for of, _, _ in UNITS.values()}:
        for system in ("us", "metric"):
            assert SHOWN[dimension, system][0] in units_of(dimension)


def test_no_minus_before_nothing():
    assert write(-0.001, "volume", "us") == "0 gal"
    assert write(-0.001, "flow", "us") == "0.0 gpm"
    assert write(-4.0, "temperature", "metric") == "-4 °C"


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0, "0 s"), (45.4, "45 s"), (89.4, "89 s"), (90, "2 min"), (720, "12 min"), (3599, "1 h 00 min"),
        (5400, "1 h 30 min"),
    ],
)  # fmt: skip
def test_time_as_people_say_it(seconds, said):
    assert write_time(seconds) == said


@given(st.floats(0, 1e6))
def test_time_is_said_to_the_minute(seconds):
    words = write_time(seconds).split()
    unit = {"s": 1, "min": 60, "h": 3600}
    told = sum(int(number) * unit[name] for number, name in zip(words[::2], words[1::2], strict=True))
    assert math.isclose(told, seconds, abs_tol=30.0001 if seconds >= 90 else 0.51)
