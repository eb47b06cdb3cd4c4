"""Pumps that draw air tell where the water stands, and so does a move: the same water at another tilt."""

import pytest
from test_balance import Cylinder

from monitor.balance.heel import Heel

HEEL_L = 120.0
DRAW_L_MIN, TAP_L_MIN = 22.7, 8.0


class Trailer(Cylinder):
    def __init__(self, volume_l, **how):
        super().__init__(volume_l, **how)
        self.balance.heel_l = HEEL_L

    def draws(self, seconds, share=1.0):
        """The trigger is held; at the heel the pump takes what comes in, and air."""
        for _ in range(int(seconds)):
            takes = DRAW_L_MIN * share if self.volume_l > HEEL_L else TAP_L_MIN
            self.pump.tell(self.at, running=True, drawing=True)
            super().runs(1, draw=takes, inflow=TAP_L_MIN)


@pytest.mark.parametrize("bias_m", [-0.025, -0.010, 0.010, 0.025])
def test_the_first_air_tells_the_tilt_and_it_is_known_from_then_on(bias_m):
    trailer = Trailer(300.0, bias_m=bias_m)
    trailer.runs(120)
    trailer.draws(60 * (300.0 - HEEL_L) / (DRAW_L_MIN - TAP_L_MIN) + 90)
    assert abs(trailer.off_l) < 5.0
    trailer.runs(1800, inflow=TAP_L_MIN)
    assert abs(trailer.off_l) < 8.0
    assert trailer.balance.belief.bias_m == pytest.approx(bias_m, abs=0.004)


def test_air_that_is_understood_only_while_the_tank_fills_again():
    trailer = Trailer(200.0, bias_m=0.015, noise_m=0.004)
    trailer.runs(120)
    trailer.draws(60 * (200.0 - HEEL_L) / (DRAW_L_MIN - TAP_L_MIN) + 24)
    trailer.runs(120, inflow=TAP_L_MIN)
    assert abs(trailer.off_l) < 6.0


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("bias_m", "share"), [(-0.015, 1.0), (0.0, 1.0), (0.0, 0.9)])
def test_no_air_is_heard_while_the_level_falls(bias_m, share, seed):
    """Not where the tilt makes the tank look emptier than it is, and not where the pump takes a tenth less."""
    trailer = Trailer(400.0, bias_m=bias_m, seed=seed)
    trailer.runs(120)
    while trailer.volume_l > HEEL_L + 3.0:
        trailer.draws(10, share)
        assert not trailer.balance.heel.air
        trailer.runs(5, inflow=TAP_L_MIN)


def test_far_from_the_heel_a_level_that_stands_is_no_air():
    trailer = Trailer(600.0)
    trailer.runs(60)
    trailer.pump.tell(trailer.at, running=True, drawing=True)
    trailer.runs(60, draw=0.001)
    assert not trailer.balance.heel.air
    assert abs(trailer.off_l) < trailer.balance.belief.volume_sd_l * 3


def test_at_a_new_place_the_same_water_tells_the_tilt():
    """Else the level's story would win within minutes of work, and what was known of the water would be lost."""
    trailer = Trailer(500.0)
    trailer.runs(60)
    trailer.balance.told(500.0, 3.0)
    trailer.bias_m = 0.02
    trailer.balance.move(trailer.at)
    trailer.runs(300)
    for _ in range(10):
        trailer.runs(60, draw=DRAW_L_MIN, inflow=TAP_L_MIN)
        trailer.runs(60, inflow=TAP_L_MIN)
    assert abs(trailer.off_l) < 6.0
    assert abs(trailer.balance.belief.unmetered_l_min) < 0.5


def test_without_a_meter_nobody_knows_what_comes_in():
    trailer = Trailer(140.0)
    trailer.balance.metered = False
    trailer.runs(60)
    trailer.draws(300)
    assert not trailer.balance.heel.air


def test_no_pump_draws_the_water_below_the_heel_so_the_level_reads_low():
    """Without any signal of the pump: what the tilt hides is given back."""
    trailer = Trailer(300.0, bias_m=-0.02)
    trailer.pump.lose(0.0, running=True, drawing=True)
    trailer.pump.tell = lambda at, **said: None
    trailer.runs(120)
    while trailer.volume_l > HEEL_L:
        trailer.runs(5, draw=DRAW_L_MIN, inflow=TAP_L_MIN)
    assert abs(trailer.off_l) < 8.0
    trailer.runs(600, inflow=TAP_L_MIN)
    assert abs(trailer.off_l) < 12.0


def test_a_tank_that_was_drained_is_below_its_heel():
    trailer = Trailer(HEEL_L - 20.0)
    trailer.runs(300)
    assert abs(trailer.off_l) < 5.0


def test_what_a_leak_took_below_the_heel_is_not_given_back():
    heel = Heel()
    assert heel.hidden_l(50.0, 10.0, True, False, 5.0) == 0.0
    assert heel.hidden_l(-12.0, 10.0, True, False, 5.0) == 12.0
    assert heel.hidden_l(-12.0, 10.0, True, True, 5.0) == 0.0
    assert heel.hidden_l(-12.0, 10.0, True, False, 5.0) == 0.0  # the leak is stopped, the water is gone
