"""Hoses and taps against published figures."""

import pytest

from monitor.planning import hoses, supply

L_PER_GAL, PA_PER_PSI, M_PER_FT, M_PER_IN, W_PER_HP = 3.785411784, 6894.757293168, 0.3048, 0.0254, 745.6999

# EPANET 2.2 engine, run through wntr 1.5.0: inner diameter in in, psi at the tap while it flows, gpm through 50 ft of
# hose to an open end at the same level, by Hazen-Williams with C = 150 and by Darcy-Weisbach with 0.0015 mm
EPANET = [
    (0.5, 40, 9.504, 9.304), (0.5, 60, 11.829, 11.641), (0.625, 40, 17.091, 16.787),
    (0.625, 60, 21.274, 20.974), (0.75, 40, 27.607, 27.107), (0.75, 60, 34.364, 33.828),
]  # fmt: skip


@pytest.mark.parametrize(("bore_in", "psi", "gpm", "gpm_darcy"), EPANET)
def test_a_garden_hose_passes_what_epanet_says(bore_in, psi, gpm, gpm_darcy):
    tap = supply.from_flowing_pressure(psi * PA_PER_PSI, bore_in * M_PER_IN, 50 * M_PER_FT)
    assert tap.l_min / L_PER_GAL == pytest.approx(gpm, rel=0.001)
    assert tap.l_min / L_PER_GAL == pytest.approx(gpm_darcy, rel=0.03)
    assert not tap.upper_bound


@pytest.mark.parametrize(("gpm", "psi_nfpa", "psi_darcy"), [(8, 473.8, 470.2), (5.5, 236.9, 239.4)])
def test_two_hundred_feet_of_three_eighths_cost_what_two_laws_say(gpm, psi_nfpa, psi_darcy):
    """p = 4.52 Q^1.85 / (C^1.85 d^4.87), NFPA 13; Darcy-Weisbach with Clamond's friction factor (fluids 1.3.1)."""
    psi = hoses.friction_pa(gpm * L_PER_GAL, 0.375 * M_PER_IN, 200 * M_PER_FT) / PA_PER_PSI
    assert psi == pytest.approx(psi_nfpa, rel=0.01)
    assert psi == pytest.approx(psi_darcy, rel=0.02)


def test_flow_and_friction_are_each_others_reverse():
    lost = hoses.friction_pa(20.0, 0.0127, 30.0)
    assert hoses.flow_l_min(lost, 0.0127, 30.0) == pytest.approx(20.0)
    assert hoses.flow_l_min(-1.0, 0.0127, 30.0) == 0.0


@pytest.mark.parametrize(("gpm", "seconds"), [(8, 8.606), (5.5, 12.518), (13.5, 5.1)])
def test_the_line_clears_by_its_volume(gpm, seconds):
    """Geometry; that a line runs clear in about ten seconds is common practice, no published source."""
    bore, length = 0.375 * M_PER_IN, 200 * M_PER_FT
    assert hoses.volume_l(bore, length) / L_PER_GAL == pytest.approx(1.1475, rel=1e-4)
    assert hoses.transit_s(bore, length, gpm * L_PER_GAL) == pytest.approx(seconds, rel=1e-4)


@pytest.mark.parametrize("gpm", [8, 5.5])
def test_the_trades_ten_seconds_until_the_line_runs_clear(gpm):
    """200 ft of 3/8 in: "about ten seconds", common practice, no published source; 8.6 and 12.5 s by plug flow."""
    seconds = hoses.transit_s(0.375 * M_PER_IN, 200 * M_PER_FT, gpm * L_PER_GAL)
    assert seconds == pytest.approx(10.0, abs=3.0)


@pytest.mark.parametrize(("psi", "gpm"), [(3000, 4.7631), (2500, 4.3481), (1000, 2.75)])
def test_a_nozzle_passes_by_the_square_root_of_pressure(psi, gpm):
    """Bernoulli; a nozzle's number is its gpm at 4000 psi, common practice, no published source."""
    assert hoses.nozzle_l_min(5.5, 4000, psi) == pytest.approx(gpm, rel=1e-4)


@pytest.mark.parametrize(("gpm", "psi", "hp"), [(8, 3500, 16.333), (5.5, 3000, 9.625)])
def test_power_in_the_water(gpm, psi, hp):
    """gpm x psi / 1714, Hydraulic Institute usage (from memory)."""
    assert hoses.power_w(gpm * L_PER_GAL, psi * PA_PER_PSI) / W_PER_HP == pytest.approx(hp, rel=0.002)


def test_what_reaches_the_gun():
    bore, length = 0.375 * M_PER_IN, 200 * M_PER_FT
    left = hoses.at_gun_pa(3500 * PA_PER_PSI, 8 * L_PER_GAL, bore, length) / PA_PER_PSI
    assert left == pytest.approx(3500 - 473.8, rel=0.005)
    assert hoses.at_gun_pa(1.0, 8 * L_PER_GAL, bore, length) == 0.0


@pytest.mark.parametrize(("pump", "word"), [(3500, "well under"), (3600, "near"), (4000, "near"), (4001, "over")])
def test_the_word_for_a_rating(pump, word):
    assert hoses.against_rating(pump, 4000) == word


def test_a_static_pressure_is_only_a_bound():
    tap = supply.from_static_pressure(60 * PA_PER_PSI, 0.0159, 15.0)
    assert tap.upper_bound
    assert tap.how == "static pressure"


def test_a_higher_tank_gets_less():
    level = supply.from_flowing_pressure(60 * PA_PER_PSI, 0.0159, 15.0)
    assert supply.from_flowing_pressure(60 * PA_PER_PSI, 0.0159, 15.0, 2.0).l_min < level.l_min


def test_a_bucket_and_a_stopwatch():
    once = supply.bucket(19.0, [57.0])
    assert once.l_min == pytest.approx(20.0)
    assert 0.03 * 20 < once.sd_l_min < 0.04 * 20
    assert supply.bucket(19.0, [45.0, 57.0, 66.0]).sd_l_min > 2 * once.sd_l_min
    assert supply.bucket(19.0, [57.0], at_tank=False).upper_bound
    assert not once.upper_bound


@pytest.mark.parametrize("times", [[], [0.0], [30.0, -1.0]])
def test_a_bucket_that_is_none(times):
    with pytest.raises(ValueError, match="above 0"):
        supply.bucket(19.0, times)


def test_a_sites_record_forgets_the_odd_day():
    tap = supply.from_record([19.0, 20.0, 20.5, 21.0, 4.0])
    assert tap.l_min == 20.0
    assert tap.sd_l_min == pytest.approx(1.6)
    with pytest.raises(ValueError, match="no record"):
        supply.from_record([])
