"""The chemical line's arithmetic."""

import pytest

from monitor.planning import chemical

L_PER_GAL = 3.785411784


def test_a_draw_down_tells_the_ratio():
    seen = chemical.DrawDown(drawn_l=1.0, time_s=60.0, flow_l_min=20.0)
    assert seen.injects_l_min == 1.0
    assert seen.ratio == 20.0


def test_the_smaller_pump_gets_the_stronger_mix():
    """A downstream injector draws a nearly constant flow: common practice, no published source."""
    small, large = (chemical.at_surface(6.0, 0.3, gpm) for gpm in (4.0, 8.0))
    assert small == pytest.approx(6.0 * 0.3 / 4.3)
    assert small > large


@pytest.mark.parametrize(("machine_gpm", "chemical_to_water"), [(8, 0.0625), (5.5, 0.0909)])
def test_half_a_gallon_a_minute_of_chemical_on_two_machines(machine_gpm, chemical_to_water):
    """0.5 gpm into 8 and 5.5 gpm of water: 6.25 % and 9.09 %, the smaller stronger by 1.4545; common practice."""
    lands = chemical.at_surface(1.0, 0.5, machine_gpm)
    assert lands / (1.0 - lands) == pytest.approx(chemical_to_water, rel=0.001)


def test_the_tank_strength_for_a_wanted_mix_gives_that_mix():
    strength = chemical.tank_strength_for(0.5, 1.1, 21.0)
    assert chemical.at_surface(strength, 1.1, 21.0) == pytest.approx(0.5)


def test_dilution_keeps_what_was_in_it():
    said = chemical.dilute(12.5, 3.0, 20.0)
    assert said.strong_l == pytest.approx(4.8)
    assert said.strong_l + said.water_l == pytest.approx(20.0)
    for wanted in (13.0, 0.0):
        with pytest.raises(ValueError, match="weaker"):
            chemical.dilute(12.5, wanted, 20.0)


def test_how_long_a_tank_lasts():
    assert chemical.lasts_s(5 * L_PER_GAL, 0.3 * L_PER_GAL) == pytest.approx(1000.0)
    assert chemical.lasts_s(5 * L_PER_GAL, 0.3 * L_PER_GAL, 0.25) == pytest.approx(4000.0)


def test_with_no_signs_everything_is_looked_at_once():
    asked = chemical.no_soap(chemical.Signs())
    assert sorted([*asked, "hose"]) == sorted(chemical.CHECKS)


def test_what_the_signals_accuse_comes_first_and_what_they_clear_is_left_out():
    signs = chemical.Signs(draws=True, line_s=12.0, waited_s=30.0, chemical_l=4.0, restricted=True, hose_added=True)
    assert chemical.no_soap(signs) == ["nozzle", "hose", "valve", "strainer", "ball"]


def test_a_line_still_full_of_water_is_said_first():
    assert chemical.no_soap(chemical.Signs(draws=True, line_s=12.0, waited_s=3.0))[0] == "line"
