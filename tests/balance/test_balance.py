"""The balance second by second, on a lying cylinder, where the slope changes with the height."""

from random import Random

import pytest

from monitor.balance.balance import Balance, TankTable
from monitor.balance.level import LevelNoise, LevelSense, Seen
from monitor.balance.pumps import PumpWatch
from monitor.tank.shapes import HorizontalCylinder, rows
from monitor.tank.strapping import Strapping

TABLE = Strapping(rows(HorizontalCylinder(1.067, 1.372)))
TANK = TankTable(TABLE.volume_l, TABLE.height_m, lambda h: max(TABLE.slope_l_per_m(h), 150.0), 1211.0, TABLE.top_m)
TOP_L = TABLE.capacity_l


class Cylinder:
    """True water, one known pump, a level sensor with bias and noise, and the balance that watches."""

    def __init__(self, volume_l, *, bias_m=0.0, noise_m=0.003, seed=1, tank=TANK):
        self.volume_l, self.bias_m, self.noise_m = volume_l, bias_m, noise_m
        self.random = Random(seed)
        self.pump = PumpWatch("Rides", 22.7)
        self.pump.tell(0.0, running=False, drawing=False)
        self.balance = Balance(tank, (self.pump,), metered=True)
        self.at = 0.0

    def runs(self, seconds, *, draw=0.0, inflow=0.0, metered=None, level=True, echo_m=None):
        self.pump.tell(self.at, running=draw > 0, drawing=draw > 0)
        for _ in range(int(seconds)):
            self.at += 1.0
            self.volume_l += (inflow - draw) / 60
            shown = TABLE.height_m(self.volume_l) + self.bias_m if echo_m is None else echo_m
            seen = Seen(shown + self.random.gauss(0, self.noise_m), 1) if level else None
            self.balance.tick(self.at, 1.0, seen, (inflow if metered is None else metered) / 60, 0.0)
        return self.balance.belief

    @property
    def off_l(self):
        return self.balance.belief.volume_l - self.volume_l


@pytest.mark.parametrize("volume_l", [200.0, 600.0, 1050.0])
@pytest.mark.parametrize("bias_m", [-0.01, 0.0, 0.01])
def test_the_bias_does_not_walk_away_where_the_walls_are_not_upright(volume_l, bias_m):
    """Regression: with the slope taken at the noisy height itself, the bias ran off by 20 cm within half an hour."""
    trailer = Cylinder(volume_l, bias_m=bias_m, noise_m=0.012)
    for _ in range(4):
        belief = trailer.runs(1800)
        assert abs(belief.bias_m) < 0.004
        assert abs(trailer.off_l) < 2.0 * belief.volume_sd_l


def test_an_emptying_cylinder_moves_no_bias_and_the_volume_stays_within_its_spread():
    """A few per cent of error in meter or pump would be taken for tilt, were the bias learned from the slope."""
    trailer = Cylinder(1100.0, bias_m=0.012)
    trailer.runs(60)
    belief = trailer.runs(2400, draw=22.7)
    assert belief.bias_m == 0.0
    assert abs(trailer.off_l) < 2.0 * belief.volume_sd_l


@pytest.mark.parametrize("seed", range(5))
def test_the_volume_lies_within_its_spread_while_pumps_and_tap_work(seed):
    random = Random(seed)
    trailer = Cylinder(900.0, bias_m=random.gauss(0, 0.01), noise_m=0.005, seed=seed)
    for _ in range(20):
        belief = trailer.runs(60, draw=random.choice((0.0, 22.7)), inflow=random.choice((0.0, 12.0)))
        assert abs(trailer.off_l) < 3.0 * belief.volume_sd_l


def test_a_draw_other_than_nominal_is_learned():
    trailer = Cylinder(1100.0)
    belief = trailer.runs(1500, draw=19.5)
    assert belief.rates_l_min[0] == pytest.approx(19.5, rel=0.02)
    assert belief.rates_sd_l_min[0] < 0.03 * 19.5


def test_water_past_the_meter_is_found():
    trailer = Cylinder(400.0)
    trailer.runs(300)
    belief = trailer.runs(600, inflow=8.0, metered=0.0)
    assert belief.unmetered_l_min == pytest.approx(8.0, abs=1.5)
    assert abs(trailer.off_l) < 3.0 * belief.volume_sd_l


# -- levels that no water made --------------------------------------------------------------------------------------


def test_a_false_echo_of_18_s_is_not_taken_in():
    trailer = Cylinder(300.0)
    trailer.runs(300, draw=22.7)
    for _ in range(18):
        belief = trailer.runs(1, draw=22.7, echo_m=0.9)
        assert abs(trailer.off_l) < 20.0
    assert trailer.balance.parting.jumped_at is None
    trailer.runs(5, draw=22.7)
    assert abs(trailer.off_l) < 20.0
    assert trailer.balance.parting.since is None
    assert belief.volume_sd_l < 20.0


@pytest.mark.parametrize("step_l", [-250.0, 250.0, 500.0])
def test_a_level_that_steps_and_stays_is_believed_after_half_a_minute(step_l):
    trailer = Cylinder(500.0)
    trailer.runs(300)
    trailer.volume_l += step_l
    trailer.runs(29)
    assert trailer.balance.parting.jumped_at is None
    trailer.runs(31)
    assert trailer.balance.parting.jumped_at is not None
    assert trailer.off_l == pytest.approx(0.0, abs=3.0 * trailer.balance.belief.volume_sd_l + 2.0)


def test_a_small_step_that_stays_is_tilt_and_leaves_the_water_alone():
    trailer = Cylinder(500.0, noise_m=0.001)
    trailer.runs(600)
    before_l = trailer.balance.belief.volume_l
    trailer.bias_m = 0.05
    belief = trailer.runs(60)
    assert belief.volume_l == pytest.approx(before_l, abs=6.0)  # 73 l of level
    assert belief.bias_m == pytest.approx(0.05, abs=0.005)


def test_a_step_after_a_move_is_tilt():
    trailer = Cylinder(500.0, noise_m=0.001)
    trailer.runs(600)
    trailer.balance.move(trailer.at)
    trailer.bias_m = 0.06
    belief = trailer.runs(90)
    assert abs(trailer.off_l) < 6.0
    assert belief.bias_m == pytest.approx(0.06, abs=0.005)


def test_splashes_do_no_harm():
    """One second in six shows any height at all."""
    trailer = Cylinder(600.0)
    random = Random(3)
    trailer.runs(60)
    for _ in range(600):
        trailer.runs(1, draw=22.7, echo_m=random.uniform(0, 1) if random.random() < 1 / 6 else None)
    assert abs(trailer.off_l) < 2.5 * trailer.balance.belief.volume_sd_l


def test_without_a_level_the_balance_carries_on_and_says_how_sure_it_is():
    trailer = Cylinder(900.0)
    trailer.runs(900, draw=22.7)
    sd_l = trailer.balance.belief.volume_sd_l
    belief = trailer.runs(900, draw=22.7, level=False)
    assert belief.volume_sd_l > sd_l
    assert abs(trailer.off_l) < 2.0 * belief.volume_sd_l


def test_where_no_level_was_ever_heard_a_persons_word_begins_the_balance():
    trailer = Cylinder(600.0)
    trailer.runs(30, level=False)
    assert trailer.balance.belief is None
    trailer.balance.told(trailer.volume_l, 12.0)
    belief = trailer.runs(120, draw=22.7, inflow=10.0, level=False)
    assert belief.volume_l == pytest.approx(trailer.volume_l, abs=12.0)
    assert belief.volume_sd_l >= 12.0


def test_nothing_is_believed_before_the_first_level():
    trailer = Cylinder(500.0)
    assert trailer.runs(30, level=False) is None
    assert trailer.runs(1) is not None


# -- begun again with what was remembered ---------------------------------------------------------------------------


def begun(remembered, standing_l):
    trailer = Cylinder(standing_l, noise_m=0.002)
    trailer.balance.remembered = remembered
    trailer.runs(120)
    return trailer


def test_a_remembered_volume_near_the_level_helps():
    trailer = begun((500.0, 5.0), 500.0)
    assert trailer.balance.belief.volume_sd_l < 7.0  # 5 l remembered, and the table itself is good to 3 mm
    trailer = Cylinder(500.0, bias_m=0.02, noise_m=0.002)
    trailer.balance.remembered = (500.0, 5.0)
    trailer.runs(120)
    assert abs(trailer.off_l) < 10.0


@pytest.mark.parametrize("standing_l", [200.0, 1000.0])
def test_a_remembered_volume_far_from_the_level_is_of_another_day(standing_l):
    """The tank was filled or dumped while nobody watched: only the level can know."""
    trailer = begun((600.0, 60.0), standing_l)
    assert abs(trailer.off_l) < 5.0


# -- the level sense --------------------------------------------------------------------------------------------


def test_a_second_is_the_median_of_its_readings():
    sense = LevelSense()
    for height in (0.50, 0.51, 0.90):
        sense.take(1.0, height)
    assert sense.second() == Seen(0.51, 3)
    assert sense.second() is None


def test_a_sensor_that_repeats_itself_by_nature_is_not_frozen_and_one_that_never_did_is():
    coarse, fine, random = LevelSense(), LevelSense(), Random(1)
    for second in range(600):
        coarse.take(float(second), round(0.5 + random.gauss(0, 0.0004), 3))
        fine.take(float(second), 0.5 + random.gauss(0, 0.0004))
    for second in range(600, 620):
        coarse.take(float(second), 0.5)
        fine.take(float(second), 0.5)
    assert fine.repeats_oddly(620.0)
    assert not coarse.repeats_oddly(620.0)


def test_equal_digits_for_a_moment_are_chance():
    sense, random = LevelSense(), Random(1)
    for second in range(600):
        sense.take(float(second), 0.5 + random.gauss(0, 0.003))
    for second in range(600, 610):
        sense.take(float(second), 0.5)
    assert not sense.repeats_oddly(610.0)


def test_the_noise_is_learned_from_the_surprises():
    noise, random = LevelNoise(), Random(2)
    for _ in range(3000):
        noise.learn(random.gauss(0, 0.012), 0.0)
    assert noise.var_m2**0.5 == pytest.approx(0.012, rel=0.15)


def test_the_independent_view_is_the_median_of_the_last_seconds():
    sense = LevelSense()
    for second in range(20):
        sense.take(float(second), 0.5 if second != 18 else 1.0)
    assert sense.typical(20.0, 6.0) == 0.5
    assert sense.typical(60.0, 6.0) is None
