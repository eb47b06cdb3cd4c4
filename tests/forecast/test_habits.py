"""Habits learned from what a crew does: triggers, work, rests, and not the waits for water."""

import math
from random import Random
from statistics import mean, stdev

import pytest
from scipy.stats import lognorm

from monitor.forecast.habits import GUESSES, KEPT, REST_S, CrewHabit, Durations, width


class Crew:
    """Plays triggers second by second before a CrewHabit."""

    def __init__(self, pumps=1):
        self.habit = CrewHabit(pumps)
        self.at = 1000.0
        self.pumps = pumps

    def does(self, seconds, *drawing, low=False, shut=False):
        for _ in range(int(seconds)):
            self.at += 1.0
            self.habit.note(self.at, tuple(k in drawing for k in range(self.pumps)), low, shut)


def test_triggers_are_learned_as_they_come():
    crew = Crew()
    crew.does(30)
    for on, off in ((20, 10), (40, 25), (15, 60)):
        crew.does(on, 0)
        crew.does(off)
    crew.does(5, 0)
    (trigger,) = crew.habit.triggers
    assert trigger.on.seen == [20, 40, 15]
    assert trigger.off.seen[-3:] == [10, 25, 60]
    assert trigger.drawing


def test_each_pump_has_its_own_habit():
    crew = Crew(2)
    crew.does(10)
    for _ in range(3):
        crew.does(20, 0)
        crew.does(10, 0, 1)
        crew.does(15)
    assert crew.habit.triggers[0].on.seen == [30, 30, 30]
    assert crew.habit.triggers[1].on.seen == [10, 10, 10]
    assert crew.habit.triggers[1].off.seen[-2:] == [35, 35]


def test_a_rest_of_all_stops_the_pumps_clocks_and_is_learned_as_a_rest():
    crew = Crew(2)
    crew.does(10)
    crew.does(400, 0)
    crew.does(50, 1)
    crew.does(1200)
    crew.does(20, 0)
    habit = crew.habit
    assert habit.rest.seen == [1201]
    assert habit.work.seen == [449]
    assert not habit.resting
    assert habit.triggers[0].off.seen[-1] == pytest.approx(50, abs=1)  # and not 1250
    assert all(seen >= 1.0 for trigger in habit.triggers for seen in trigger.off.seen)


def test_a_pause_shorter_than_a_rest_is_a_pause():
    crew = Crew()
    crew.does(10)
    crew.does(60, 0)
    crew.does(REST_S - 5)
    crew.does(60, 0)
    assert crew.habit.rest.seen == []
    assert crew.habit.triggers[0].off.seen[-1] == REST_S - 5


def test_the_working_clock_stands_still_while_the_crew_rests():
    crew = Crew()
    crew.does(5)
    crew.does(100, 0)
    crew.does(REST_S + 1)
    begun = crew.habit.working_s(crew.at)
    crew.does(500)
    assert crew.habit.resting
    assert crew.habit.working_s(crew.at) == begun


@pytest.mark.parametrize("wait_s", [60, 900])
def test_waiting_for_water_is_no_habit(wait_s):
    """The tank was low: the crew could not have drawn, whether it waited a minute or a quarter of an hour."""
    crew = Crew()
    crew.does(10)
    for _ in range(3):
        crew.does(30, 0)
        crew.does(20)
    crew.does(30, 0)
    learned = list(crew.habit.triggers[0].off.seen)
    crew.does(20, 0, low=True)
    crew.does(wait_s, low=True)
    crew.does(30, low=False)  # refilled, and the crew is only just coming back
    crew.does(30, 0)
    assert crew.habit.triggers[0].off.seen == learned
    assert crew.habit.rest.seen == []
    crew.does(40)
    crew.does(5, 0)
    assert crew.habit.triggers[0].off.seen == [*learned, 40]  # and from then on all pauses count again


def test_a_pump_that_joins_again_later_waited_for_water_too():
    crew = Crew(2)
    crew.does(10)
    for _ in range(2):
        crew.does(20, 0, 1)
        crew.does(20)
    crew.does(20, 0, 1)
    learned = list(crew.habit.triggers[1].off.seen)
    crew.does(100, low=True)
    crew.does(15, 0)
    crew.does(15, 0, 1)
    assert crew.habit.triggers[1].off.seen == learned


def test_a_wait_for_water_interrupts_work_and_does_not_end_it():
    crew = Crew()
    crew.does(10)
    crew.does(300, 0)
    crew.does(10, 0, low=True)
    crew.does(600, low=True)
    crew.does(200, 0)
    crew.does(REST_S + 5)
    assert crew.habit.work.seen == [pytest.approx(509, abs=2)]


def test_a_tap_shut_while_nobody_draws_tells_of_packing_up():
    crew = Crew()
    crew.does(10)
    crew.does(60, 0)
    crew.does(5)
    assert crew.habit.leaving == 0.0
    crew.does(5, shut=True)
    assert crew.habit.leaving == 0.5  # nobody knows yet what this crew means by it
    crew.does(REST_S, shut=True)
    assert crew.habit.resting
    assert crew.habit.leaving == 0.0
    crew.does(60, 0)
    crew.does(5, shut=True)
    assert crew.habit.leaving == pytest.approx(2 / 3)  # it packed up then
    crew.does(5, 0)
    crew.does(5, shut=True)
    assert crew.habit.leaving == 0.5  # this time it went on
    crew.does(5, 0, shut=True)
    assert crew.habit.leaving == 0.0  # a tap lost while pumps draw is no packing up


def test_only_the_latest_are_kept():
    durations = Durations(3.0, 600.0)
    for k in range(400):
        durations.learn(float(k + 1))
    assert durations.seen == [float(k) for k in range(401 - KEPT, 401)]


def test_what_was_learned_survives():
    crew, again = Crew(2), CrewHabit(2)
    crew.does(10)
    for _ in range(5):
        crew.does(20, 0)
        crew.does(15, 1)
    again.restore(crew.habit.save())
    assert again.save() == crew.habit.save()
    again.restore({})
    assert CrewHabit(3).save() == {
        "on": [[]] * 3, "off": [[]] * 3, "work": [], "rest": [], "leaves": [1.0, 1.0]
    }


# -- how much longer ------------------------------------------------------------------------------------------------


def draws(durations, elapsed_s, many=20_000):
    rest, random = durations.lasting(elapsed_s), Random(1)
    return [rest.draw(random) for _ in range(many)]


def test_before_anything_is_seen_the_guess_is_as_broad_as_it_says():
    found = sorted(math.log(x) for x in draws(Durations(3.0, 600.0), 0.0))
    for share in (0.1, 0.5, 0.9):
        expected = math.log(3.0) + share * math.log(200.0)
        assert found[int(share * len(found))] == pytest.approx(expected, abs=0.08)


@pytest.mark.parametrize("elapsed_s", [0.0, 30.0, 95.0])
def test_how_much_longer_depends_on_how_long_already(elapsed_s):
    """Remembered: 10, 20, … 150 s, four times each, each smoothed by a log-normal kernel. What remains is drawn from
    the part of it beyond `elapsed`; the guess has the weight of as many durations as survive that long."""
    durations = Durations(3.0, 600.0)
    for k in range(60):
        durations.learn(10.0 * (k % 15 + 1))
    h = width(durations.logs)
    kernels = [lognorm(h, scale=seen) for seen in durations.seen]
    weight = sum(float(kernel.sf(elapsed_s)) for kernel in kernels)
    beyond = sum(kernel.expect(lambda x: x - elapsed_s, lb=elapsed_s) for kernel in kernels[:15]) * 4.0 / weight
    low = max(3.0, elapsed_s)
    survivors = GUESSES * math.log(600.0 / low) / math.log(200.0)
    guess = survivors / (survivors + weight)
    guessed_mean = (600.0 - low) / math.log(600.0 / low) - elapsed_s
    assert mean(draws(durations, elapsed_s)) == pytest.approx(guess * guessed_mean + (1 - guess) * beyond, rel=0.04)


def test_a_crew_that_keeps_a_beat_is_foretold_sharply():
    few, many = Durations(3.0, 600.0), Durations(3.0, 600.0)
    few.learn(60.0)
    many.remember([60.0] * KEPT)
    near = [sum(abs(x - 60.0) <= 6.0 for x in draws(durations, 0.0)) / 20_000 for durations in (few, many)]
    assert near[0] < 0.15
    assert near[1] > 0.95


def test_the_kernel_follows_spread_and_number():
    """Silverman 1986, eq. 3.31 for many; for a few the guessed spread counts as one more observation."""
    random = Random(3)
    logs = [random.gauss(4.0, 0.5) for _ in range(KEPT)]
    assert width(logs) == pytest.approx(0.7 * stdev(logs) * KEPT**-0.2, rel=0.03)
    assert width(logs[:2]) > 2 * width(logs)


def test_longer_than_ever_may_last_as_long_again():
    durations = Durations(3.0, 600.0)
    durations.learn(20.0)
    found = draws(durations, 1000.0)
    assert all(0.0 < x <= 1001.0 for x in found)
    assert mean(found) > 300.0


def test_what_remains_is_never_nothing():
    assert min(draws(Durations(3.0, 600.0), 599.0)) > 0.0
