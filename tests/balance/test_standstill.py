"""A level that stands while water comes in, and levels that only look like it."""

import random

import pytest

from monitor.balance.standstill import Standstill

NOISE_L = 1.5


class Gauge:
    """A tank's level, told of second by second. Flows in l/min."""

    def __init__(self, seed: int) -> None:
        self.rng, self.at, self.level_l, self.standstill = random.Random(seed), 0.0, 500.0, Standstill()

    def runs(self, for_s: int, *, flow=0.0, rise=None, rests=True, every_s=1) -> "Gauge":
        """`flow` is metered, `rise` is what the level makes of it."""
        for k in range(for_s):
            self.at += 1.0
            self.level_l += (flow if rise is None else rise) / 60.0
            metered_l = every_s * flow / 60.0 if k % every_s == every_s - 1 else 0.0
            self.standstill.add(self.at, self.level_l + self.rng.gauss(0.0, NOISE_L), metered_l, rests)
        return self

    @property
    def says(self) -> str:
        return self.standstill.says


@pytest.mark.parametrize("seed", range(5))
def test_a_level_that_trembles_while_the_tap_runs_and_nobody_draws_stands(seed: int) -> None:
    gauge = Gauge(seed).runs(300, flow=15.0)
    assert gauge.says == ""
    assert gauge.runs(130, flow=15.0, rise=0.0).says == "stands"


def test_it_is_doubted_before_it_is_sure() -> None:
    gauge = Gauge(1).runs(300, flow=15.0)
    said = {gauge.runs(10, flow=15.0, rise=0.0).says for _ in range(13)}
    assert said == {"", "may", "stands"}


@pytest.mark.parametrize("rise", [15.0, 15.0 / 1.6, 13.0, -30.0, 6.0])
def test_sound_meters_wrong_meters_and_leaks_are_none(rise: float) -> None:
    for seed in range(5):
        assert not Gauge(seed).runs(900, flow=15.0, rise=rise).standstill.stands


def test_a_level_that_rises_and_then_falls_has_not_stood() -> None:
    for seed in range(5):
        gauge = Gauge(seed).runs(300, flow=18.0)
        for _ in range(30):
            assert not gauge.runs(10, flow=18.0, rise=-18.0).standstill.stands


def test_a_meter_heard_of_after_a_silence_is_no_flow() -> None:
    gauge = Gauge(2).runs(300, flow=0.0)
    gauge.standstill.add(gauge.at + 1.0, gauge.level_l, 200.0, True)
    assert not gauge.runs(300, flow=0.0).standstill.stands


def test_a_pump_that_nobody_watches_may_take_just_what_comes_in() -> None:
    assert Gauge(3).runs(1200, flow=15.0, rise=0.0, rests=False).says == ""


def test_a_level_that_moves_again_is_believed_again() -> None:
    gauge = Gauge(4).runs(300, flow=15.0, rise=0.0)
    assert gauge.says == "stands"
    assert gauge.runs(120, flow=15.0).says == ""


def test_what_was_said_stays_said_while_nobody_can_tell() -> None:
    gauge = Gauge(4).runs(300, flow=15.0, rise=0.0)
    gauge.standstill.pause()
    assert gauge.says == "stands"
    gauge.standstill.forget()
    assert gauge.says == ""
