"""Weight on the road, services, a season's draw, frost."""

import pytest

from monitor.planning import haul, upkeep
from monitor.tank.level import water_density_kg_m3

L_PER_GAL, KG_PER_LB = 3.785411784, 0.45359237


@pytest.mark.parametrize(("fahrenheit", "lb_per_gal"), [(39.2, 8.3452), (60, 8.3372), (70, 8.3285), (100, 8.2874)])
def test_a_gallon_weighs_what_the_steam_tables_say(fahrenheit, lb_per_gal):
    """IAPWS-95 density with NIST SP 811 factors; 8.34 lb/gal at 60 °F is the round figure."""
    density = water_density_kg_m3((fahrenheit - 32.0) / 1.8)
    assert haul.water_kg(L_PER_GAL, density) / KG_PER_LB == pytest.approx(lb_per_gal, abs=0.0006)


def test_a_full_tank_of_five_hundred_gallons():
    """4168.6 lb at 60 °F by IAPWS-95; "4172.5 lb" is 8.345 lb/gal, water at 39 °F: common practice."""
    lb = haul.water_kg(500 * L_PER_GAL, water_density_kg_m3((60.0 - 32.0) / 1.8)) / KG_PER_LB
    assert lb == pytest.approx(4168.6, abs=0.5)
    lb = haul.water_kg(500 * L_PER_GAL, water_density_kg_m3((39.2 - 32.0) / 1.8)) / KG_PER_LB
    assert lb == pytest.approx(4172.5, abs=0.5)


def test_what_the_plate_leaves_for_water():
    load = haul.Load(rated_kg=2000, empty_kg=1200, fuel_kg=40, chemical_kg=60)
    assert load.left_kg == 700
    assert haul.most_water_l(load, 1000.0) == 700.0
    assert haul.most_water_l(load._replace(empty_kg=2500), 1000.0) == 0.0


def test_a_part_full_tank_surges():
    assert haul.surges(500, 1000)
    assert not haul.surges(50, 1000)
    assert not haul.surges(950, 1000)


@pytest.mark.parametrize(
    ("ran_h", "days", "word"), [(10, 10, "fine"), (46, 10, "soon"), (50, 10, "due"), (1, 400, "due")]
)
def test_a_service_is_due_by_what_comes_first(ran_h, days, word):
    assert upkeep.due(upkeep.Service("engine oil", every_h=50, every_days=365), ran_h, days) == word


def test_a_service_without_an_interval_is_never_due():
    assert upkeep.due(upkeep.Service("look at it"), 1e6, 1e6) == "fine"


@pytest.mark.parametrize(
    ("draws", "verdict"),
    [
        ([20, 20.2], "too few"),
        ([20, 20.2, 19.8, 20.1, 20.0, 19.9], "steady"),
        ([20, 19.9, 20.1, 16.0, 16.2, 15.9, 16.1], "fell at once"),
        ([20, 19.6, 19.1, 18.7, 18.2, 17.8, 17.3, 16.9, 16.4], "falls"),
        ([20, 20.1, 20.5, 21.4, 22.0, 22.4], "rises"),
    ],
)
def test_the_verdict_on_a_season(draws, verdict):
    said = upkeep.season(draws)
    assert said.verdict == verdict
    assert bool(said.look_at) == (verdict not in ("too few", "steady"))


def test_frost_says_what_to_do_tonight():
    assert upkeep.freeze(8.0) == ("no", ())
    assert upkeep.freeze(2.0)[0] == "near"
    word, tonight = upkeep.freeze(-4.0)
    assert word == "freezes"
    assert "drain_tank_and_lines" in tonight
