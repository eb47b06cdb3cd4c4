"""What the signals say of one pump between two ticks."""

import pytest

from monitor.balance.pumps import RECENT_S, PumpWatch


@pytest.fixture
def pump():
    return PumpWatch("Rides", 22.7)


def test_nobody_knows_before_a_signal_speaks(pump):
    assert pump.share(1.0, 1.0) is None


def test_a_second_is_shared_to_the_moment(pump):
    pump.tell(10.0, drawing=False)
    pump.share(10.0, 1.0)
    pump.tell(10.25, drawing=True)
    assert pump.share(11.0, 1.0) == pytest.approx(0.75)
    pump.tell(11.1, drawing=False)
    pump.tell(11.9, drawing=True)
    assert pump.share(12.0, 1.0) == pytest.approx(0.2)
    assert pump.share(13.0, 1.0) == 1.0


def test_an_engine_that_stands_still_draws_nothing_and_one_that_runs_may(pump):
    pump.tell(1.0, running=False)
    assert pump.share(2.0, 1.0) == 0.0
    pump.tell(2.5, running=True)
    assert pump.share(3.0, 1.0) is None


def test_a_lost_drawing_signal_leaves_the_engine_to_speak(pump):
    pump.tell(1.0, running=True, drawing=True)
    pump.lose(1.5, drawing=True)
    assert pump.share(2.0, 1.0) is None
    pump.tell(2.5, running=False)
    assert pump.share(3.0, 1.0) == 0.0
    pump.lose(3.5, running=True)
    assert pump.share(4.0, 1.0) is None


@pytest.mark.parametrize(
    ("running", "drawing", "probability", "state"),
    [
        (False, None, 0.0, "off"), (False, False, 0.0, "off"), (True, True, 1.0, "draws"), (True, False, 0.0, "bypass"),
        (True, None, 0.5, "unknown"), (True, None, 0.97, "draws"), (True, None, 0.03, "bypass"),
        (None, None, 0.97, "draws"), (None, None, 0.5, "unknown"), (None, None, 0.02, "off"),
        (None, True, 1.0, "draws"),
    ],
)  # fmt: skip
def test_its_state(pump, running, drawing, probability, state):
    pump.tell(1.0, running=running, drawing=drawing)
    pump.settle(2.0, 1.0, probability)
    assert pump.state == state


def test_bypass_time_counts_on_bypass_and_ends_with_it(pump):
    pump.tell(0.0, running=True, drawing=False)
    for second in range(100):
        pump.settle(float(second), 1.0, 0.0)
    assert pump.bypass_s == 100.0
    pump.tell(100.0, drawing=True)
    pump.settle(101.0, 1.0, 1.0)
    assert pump.bypass_s == 0.0


def test_ten_minutes_in_use(pump):
    assert not pump.in_use(0.0)
    pump.tell(0.0, running=True, drawing=False)
    for second in range(60):
        pump.settle(float(second), 1.0, 0.0)
    pump.tell(60.0, running=False)
    pump.settle(60.0, 1.0, 0.0)
    assert pump.in_use(59.0 + RECENT_S)
    assert not pump.in_use(60.0 + RECENT_S)


def test_a_pump_rests_only_as_far_as_somebody_could_tell():
    pump = PumpWatch("Rides", 22.0)
    assert pump.unrested, "a daemon just begun knows of no rest"
    for second in range(700):
        pump.settle(float(second), 1.0, 0.1, tellable=False)
    assert pump.unrested
    for second in range(700, 1400):
        pump.settle(float(second), 1.0, 0.1)
    assert not pump.unrested
    pump.settle(1401.0, 1.0, 0.9)
    assert pump.unrested
