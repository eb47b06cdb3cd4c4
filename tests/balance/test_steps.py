"""A metered flow that steps: is it the water that changed, or the meter?"""

import random

import pytest

from monitor.balance.balance import Balance, TankTable
from monitor.balance.level import Seen
from monitor.balance.pumps import PumpWatch
from monitor.balance.steps import CREEPS_S, LONGEST_S, PART_S, STEP_METER, WATCHED_S, Second, Steps

BOX = TankTable(lambda h: 1000.0 * h, lambda v: v / 1000.0, lambda h: 1000.0, 1200.0, 1.2)
RATES = (22.0, 14.0)
NOISE_M = 0.002


class Rig:
    """A box of a square metre. `watched`: signals tell which pumps draw."""

    def __init__(self, seed: int, watched: bool = True) -> None:
        self.rng, self.at, self.volume_l, self.counted_at = random.Random(seed), 0.0, 600.0, 0.0
        self.pumps = tuple(PumpWatch(name, rate) for name, rate in zip(("Rides", "Stalls"), RATES, strict=True))
        self.balance, self.watched = Balance(BOX, self.pumps, True), watched
        self.steps = Steps(BOX)
        self.said: list[tuple[float, str]] = []

    def runs(self, for_s: int, flow: float, counted: float = 1.0) -> "Rig":
        """Triggers are pulled for half a minute or so and let go of for a third of it; l/min."""
        begun = self.at
        for _ in range(for_s):
            self.at += 1.0
            draws = [self.at % (40 + 17 * i) < 28 for i in range(2)]
            self.volume_l += (flow - sum(r * d for r, d in zip(RATES, draws, strict=True))) / 60.0
            if self.volume_l < 300.0:
                self.volume_l += 500.0
                self.balance.told(self.volume_l, 1.0)
                self.steps.forget()
            if self.watched:
                for pump, on in zip(self.pumps, draws, strict=True):
                    pump.tell(self.at, running=True, drawing=on)
            self._tick(flow * counted)
            step = self.steps.step
            if step is not None and step.says:
                self.said.append((self.at - begun, step.says))
        return self

    def _tick(self, counted_l_min: float) -> None:
        metered_l, height_m = counted_l_min / 60.0, self.volume_l / 1000.0 + self.rng.gauss(0.0, NOISE_M)
        self.balance.tick(self.at, 1.0, Seen(height_m, 1), metered_l, 0.0)
        self.counted_at = self.at if metered_l > 0.0 else self.counted_at
        second = Second(self.at, metered_l, self.balance.shares, height_m, self.balance.noise.var_m2)
        assert self.balance.filter is not None
        self.steps.add(second, counted_l_min, self.counted_at, self.balance.filter)


@pytest.mark.parametrize(("watched", "flow"), [(True, 15.0), (False, 30.0)])
@pytest.mark.parametrize("says", ["meter", "water"])
def test_a_stop_is_of_the_meter_or_of_the_water(says: str, watched: bool, flow: float) -> None:
    """Unwatched pumps are told by the level too, as long as none draws just what the tap gives."""
    for seed in range(4):
        rig = Rig(seed, watched).runs(300, flow)
        rig.runs(90, flow if says == "meter" else 0.0, 0.0)
        assert {what for _, what in rig.said} == {says}
        assert rig.said[0][0] <= LONGEST_S + 1.0


@pytest.mark.parametrize(("flow", "counted", "says"), [
    (15.0, 1.25, "meter"), (15.0, 0.7, "meter"), (19.0, 1.0, "water"), (10.0, 1.0, "water"),
])  # fmt: skip
def test_a_step_of_a_part_is_named_too_where_the_draws_are_known(flow: float, counted: float, says: str) -> None:
    for seed in range(3):
        rig = Rig(seed).runs(400, 15.0)
        rig.runs(int(PART_S), flow, counted)
        assert {what for _, what in rig.said} == {says}


def test_a_tap_that_changes_all_day_never_throws_doubt_on_the_meter() -> None:
    rig = Rig(9)
    for flow in (15.0, 10.0, 18.0, 12.0, 20.0, 8.0, 15.0):
        rig.runs(450, flow)
    assert "meter" not in {what for _, what in rig.said}


def test_a_flow_that_is_back_is_no_step_any_more() -> None:
    rig = Rig(1).runs(300, 15.0).runs(60, 15.0, 0.0)
    assert rig.steps.step is not None
    rig.runs(30, 15.0)
    assert rig.steps.step is None


@pytest.mark.parametrize(("counted", "says"), [(11.5, "meter"), (13.2, "")])
def test_a_part_is_laid_to_the_meter_only_while_it_is_large_enough_for_a_step(counted: float, says: str) -> None:
    """However sure the level seems: an eighth may be its own error."""
    rig = Rig(2).runs(300, 15.0)
    begun = rig.steps._begin(rig.at, 15.0, False)
    begun.likelier = 2.0 * STEP_METER
    for t in range(60):
        begun.add(Second(rig.at + 1.0 + t, counted / 60.0, (0.0, 0.0), None, NOISE_M**2))
    assert begun.says == says


def test_a_tap_named_for_want_of_a_sign_is_not_proven() -> None:
    shut = Rig(1, watched=False).runs(300, 30.0).runs(120, 0.0)
    assert shut.steps.step is not None
    assert shut.steps.step.proven
    begun = shut.steps._begin(shut.at, 15.0, True)
    for t in range(int(LONGEST_S) + 2):
        begun.add(Second(shut.at + 1.0 + t, 0.0, (0.0, 0.0), None, NOISE_M**2))
    assert begun.says == "water"
    assert not begun.proven


def test_a_tap_named_for_want_of_a_sign_is_taken_back_when_the_level_rises() -> None:
    """However much later: water that nobody counts is the only thing that lifts it."""
    rig = Rig(3, watched=False).runs(300, 30.0)
    step = rig.steps._begin(rig.at, 30.0, True)
    for t in range(1, 1201):
        rises_l = 0.5 * max(0, t - 1100)
        height_m = (rig.volume_l + rises_l) / 1000.0 + rig.rng.gauss(0.0, NOISE_M) if t > 1100 else None
        step.add(Second(rig.at + t, 0.0, (None, None) if t > 1100 else (1.0, 0.0), height_m, NOISE_M**2))
        if t == 1100:
            assert step.says == "water"
            assert not step.proven
    assert step.says == "meter"


@pytest.mark.parametrize(("creeps", "says"), [(True, "water"), (False, "meter")])
def test_a_level_that_creeps_is_no_evidence_for_the_meter_where_nobody_tells_who_draws(creeps: bool, says: str) -> None:
    """A slow leak goes better with a pump that takes what the tap gives than with a shut tap."""
    rig = Rig(3, watched=False).runs(300, 30.0)
    step = rig.steps._begin(rig.at, 30.0, True)
    step.says = "water"
    step.likelier = STEP_METER - 1.0
    for t in range(1, 601):
        height_m = (rig.volume_l + 0.1 * t) / 1000.0 + rig.rng.gauss(0.0, NOISE_M) if t > CREEPS_S else None
        step.add(Second(rig.at + t, 0.0, (None, None), height_m, NOISE_M**2, creeps))
    assert step.says == says


def test_where_nothing_tells_them_apart_it_is_the_water_in_the_end() -> None:
    """A change of the flow too small to be told by the level, and with no level at all."""
    assert PART_S < WATCHED_S
    rig = Rig(3).runs(300, 15.0)
    begun = rig.steps._begin(rig.at, 15.0, True)
    for t in range(int(WATCHED_S)):
        begun.add(Second(rig.at + 1.0 + t, 0.0, (0.0, 0.0), None, NOISE_M**2))
    assert begun.says == "water"
