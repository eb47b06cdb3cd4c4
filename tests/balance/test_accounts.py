"""The accounts of water while no pump draws, against least squares by statsmodels; and what each oddity is called."""

import random

import pytest
import statsmodels.api as sm

from monitor.balance.accounts import CORRELATED, KNOWN_GAIN, Accounts, Differences, Stretch
from monitor.balance.diagnosis import Bounds, Diagnosis
from monitor.balance.following import Following
from monitor.balance.redundancy import Redundancy

NOISE_L = 1.5
BOUNDS = Bounds(throttled=False, slope_l_per_m=1300.0, noise_l=NOISE_L, least_draw_l_min=14.0)


def test_one_stretch_is_ordinary_least_squares() -> None:
    rng = random.Random(3)
    stretch, rows, seen, metered = Stretch(), [], [], 0.0
    for t in range(200):
        passed = 0.0 if t == 0 else rng.uniform(0.0, 0.6)
        metered += passed
        level = 500.0 + 1.1 * metered - 0.02 * t + rng.gauss(0.0, NOISE_L)
        stretch.add(float(t), passed, level)
        rows.append([1.0, t / 60.0, metered])
        seen.append(level - metered)
    sums = stretch.sums(NOISE_L**2)
    det = sums.tt * sums.mm - sums.tm**2
    flow = (sums.ty * sums.mm - sums.my * sums.tm) / det
    gain = (sums.my * sums.tt - sums.ty * sums.tm) / det
    reference = sm.OLS(seen, rows).fit()
    assert [flow, gain] == pytest.approx(list(reference.params[1:]), rel=1e-6)
    sd = (sums.mm / det) ** 0.5
    noise_l = sd / reference.normalized_cov_params[1][1] ** 0.5
    assert NOISE_L < noise_l < CORRELATED * NOISE_L  # its own, and a little of what is usual


def test_a_stretch_says_itself_how_noisy_it_is() -> None:
    """Independent readings: the means of ten differ by twice a tenth of their variance, whatever the slope."""
    rng, own = random.Random(5), Differences()
    assert own.var_l2(9.0) == 9.0
    for t in range(20_000):
        own.add(0.01 * t + rng.gauss(0.0, 2.0))
    assert own.var_l2(9.0) == pytest.approx(4.0, rel=0.08)


class Rig:
    """A tank at rest or drawn from, told of second by second."""

    def __init__(self, seed: int = 1, watched: bool = True) -> None:
        self.watched = watched
        self.accounts, self.redundancy = Accounts(), Redundancy()
        self.diagnosis = Diagnosis(self.accounts, self.redundancy)
        self.rng, self.at, self.volume_l = random.Random(seed), 0.0, 600.0
        self.odd, self.bounds = self.diagnosis.odd, BOUNDS

    def runs(self, for_s: int, flow: float = 0.0, counted: float = 1.0, leak: float = 0.0, draw: float = 0.0) -> "Rig":
        """`flow` runs in, of which the meter counts `counted`; l/min."""
        for _ in range(for_s):
            self.at += 1.0
            self.volume_l += (flow - leak - draw) / 60.0
            seen, metered = self.volume_l + self.rng.gauss(0.0, NOISE_L), counted * flow / 60.0
            rests = self.watched and draw == 0.0
            drawn = draw / 60.0 if self.watched else 0.0
            self.redundancy.add(self.at, seen, metered, drawn, draw == 0.0, draw / 60.0, rests)
            self.accounts.add(self.at, seen, metered, NOISE_L**2, rests)
            self.odd = self.diagnosis.look(self.at, self.bounds)
        return self

    def until_named(self, for_s: int, **how: float) -> float:
        begun = self.at
        while not self.odd.what:
            assert self.at - begun < for_s, "not named in time"
            self.runs(1, **how)
        return self.at - begun


def test_a_sound_rig_is_left_alone() -> None:
    for seed in range(5):
        rig = Rig(seed)
        for _ in range(6):
            rig.runs(120, flow=15.0, counted=1.0 + KNOWN_GAIN).runs(90, flow=15.0, counted=1.0 + KNOWN_GAIN, draw=22.0)
            rig.runs(200)
            assert rig.odd.what == ""


@pytest.mark.parametrize(
    ("fault", "what", "within_s"),
    [
        ({"leak": 2.0}, "leak", 420),
        ({"leak": 60.0, "draw": 20.0}, "leak", 180),
        ({"flow": 15.0, "counted": 0.0}, "meter", 200),
    ],
)
def test_each_is_named_for_what_it_is(fault, what, within_s) -> None:
    rig = Rig().runs(300).runs(240, flow=15.0).runs(120, draw=20.0)
    rig.until_named(within_s, **fault)
    assert rig.odd.what == what


def test_five_minutes_of_rest_are_too_few_to_call_it_a_level_that_creeps() -> None:
    """By more than a meter in order is off, and by less than any fault of it makes: a level has hours to show it."""
    for seed in range(3):
        rig = Rig(seed).runs(240, flow=15.0).runs(120, flow=15.0, draw=22.0)
        assert rig.runs(540, flow=15.0, counted=0.92).odd.what == ""
        assert rig.runs(180, flow=15.0, counted=0.92).odd.what == "creeping"


def test_what_the_tanks_shape_may_make_of_a_flow_is_no_level_that_creeps() -> None:
    for shape, what in ((0.0, "creeping"), (0.06, "")):
        rig = Rig().runs(240, flow=15.0).runs(120, flow=15.0, draw=22.0)
        rig.bounds = BOUNDS._replace(shape=shape)
        assert rig.runs(720, flow=15.0, counted=0.92).odd.what == what


def test_a_level_that_creeps_keeps_its_name_where_the_tank_is_wider() -> None:
    """By height it creeps on as before; what it makes of that as water is twice as much."""
    rig = Rig().runs(900, leak=-1.0)
    assert rig.odd.what == "creeping"
    rig.runs(900, flow=15.0, draw=30.0).runs(1300, flow=15.0, leak=-2.2)
    assert rig.odd.what == "creeping"


def test_a_meter_that_counts_too_little_is_told_from_a_leak_by_the_tap_that_shuts() -> None:
    rig = Rig()
    for _ in range(4):
        rig.runs(150, flow=15.0, counted=1.5).runs(150)
    assert rig.odd.what == "meter"
    assert rig.odd.l_min < 0.0


def test_what_is_mended_is_dropped() -> None:
    rig = Rig().runs(900, leak=3.0)
    assert rig.odd.what == "leak"
    rig.runs(1200)
    assert rig.odd.what == ""


@pytest.mark.parametrize(("follows", "stands"), [(1.0, False), (0.0, True)])
def test_a_level_that_trembles_and_does_not_follow_stands(follows, stands) -> None:
    rng, following, moved_l = random.Random(2), Following(), 0.0
    for t in range(1, 600):
        change_l = (15.0 - (40.0 if t % 90 < 45 else 0.0)) / 60.0
        moved_l += change_l
        following.add(float(t), 500.0 + follows * moved_l + rng.gauss(0.0, NOISE_L), change_l, NOISE_L)
    assert following.stands is stands


def test_a_level_held_up_at_the_brim_does_not_stand() -> None:
    """It can't rise with the tap that runs, but goes down with the pumps, a quarter of the water's way."""
    rng, following, moved_l, level_l = random.Random(2), Following(), 0.0, 500.0
    for t in range(1, 1500):
        change_l = (30.0 - (46.0 if t % 220 < 30 else 0.0)) / 60.0
        moved_l += change_l
        level_l = min(510.0, level_l + change_l)
        following.add(float(t), level_l + rng.gauss(0.0, NOISE_L), change_l, NOISE_L)
        assert not following.stands, t


def test_a_dead_meter_makes_no_level_stand() -> None:
    """The water that nobody counts comes in steadily: it bends no slope."""
    rng, following, volume_l = random.Random(2), Following(), 500.0
    for t in range(1, 600):
        drawn_l = 22.0 / 60.0 if t % 90 < 60 else 0.0
        volume_l += 15.0 / 60.0 - drawn_l
        following.add(float(t), volume_l + rng.gauss(0.0, NOISE_L), -drawn_l, NOISE_L)
    assert not following.stands


@pytest.mark.parametrize(
    ("fault", "what", "within_s"),
    [({"leak": 2.0}, "leak", 700), ({"leak": -1.0}, "creeping", 700), ({"flow": 15.0, "counted": 0.7}, "meter", 1300)],
)
def test_with_no_signal_of_the_pumps_a_level_that_runs_straight_tells_that_they_rest(fault, what, within_s) -> None:
    for seed in range(3):
        rig = Rig(seed, watched=False)
        for _ in range(8):
            rig.runs(40, flow=15.0, draw=22.0).runs(20, flow=15.0)
        assert rig.odd.what == ""
        rig.until_named(within_s, **fault)
        assert rig.odd.what == what


@pytest.mark.parametrize(("crept", "what"), [(0.0, "meter"), (0.3, "creeping")])
def test_what_walls_make_of_a_flow_where_the_level_has_crept_is_no_meter(crept: float, what: str) -> None:
    """A level known to creep stands where the tank is narrower than it looks: all that flows looks larger there."""
    rig = Rig(2, watched=False)
    rig.bounds = BOUNDS._replace(crept=crept)
    rig.until_named(1800, flow=15.0, counted=0.82)
    assert rig.odd.what == what


@pytest.mark.parametrize(("burst_s", "pause_s"), [(10, 50), (25, 35), (60, 20), (20, 100)])
def test_bursts_are_no_leak_though_nobody_tells_of_them(burst_s, pause_s) -> None:
    """Twelve gallons a minute let out in bursts bend the line, however even they are."""
    for seed in range(3):
        rig = Rig(seed, watched=False)
        while rig.at < 2400:
            rig.runs(burst_s, draw=22.0).runs(pause_s)
            assert rig.odd.what == ""


def test_a_sound_meter_is_not_doubted_by_what_its_class_allows() -> None:
    """OIML R 49-1:2013, class 2: 5 % between Q1 and Q2."""
    for counted in (0.96, 1.04):
        rig = Rig(2, watched=False).runs(2400, flow=15.0, counted=counted)
        assert rig.odd.what == ""
