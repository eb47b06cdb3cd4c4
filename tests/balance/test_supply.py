"""Inflow from steps of a meter that may be whole litres, and what the tap is known to give."""

import pytest

from monitor.balance.supply import Inflow, Tap


def metered(flow_l_min, quantum_l, seconds=120, report_s=1.0, inflow=None, begin=0.0):
    """A meter that shows whole quanta, read once in `report_s`."""
    inflow = inflow or Inflow()
    passed = shown = 0.0
    for k in range(int(seconds / report_s)):
        passed += flow_l_min * report_s / 60.0
        now = passed // quantum_l * quantum_l
        inflow.passed(begin + (k + 1) * report_s, now - shown)
        shown = now
    return inflow


@pytest.mark.parametrize("flow_l_min", [2.0, 8.0, 19.0, 45.0])
@pytest.mark.parametrize("quantum_l", [1 / 450, 0.1, 1.0, 3.785])
def test_the_flow_is_read_from_fine_and_coarse_pulses(flow_l_min, quantum_l):
    """A gallon a pulse and a trickle among them: a pulse in two minutes is no spurt of 28 l/min."""
    shown = metered(flow_l_min, quantum_l, 600).l_min
    assert shown == pytest.approx(flow_l_min, rel=0.15, abs=60 * 1 / 450 / 8)


def test_reports_that_waited_for_each_other_tell_of_no_flood():
    """Nothing got through for a quarter of a minute, and then all of it within a few thousandths of a second."""
    inflow = metered(19.0, 1 / 450)
    for k in range(15):
        inflow.passed(135.0 + 0.002 * k, 19.0 / 60.0)
        assert inflow.l_min <= 1.3 * 19.0
    assert inflow.l_min == pytest.approx(19.0, rel=0.15)
    assert metered(19.0, 1 / 450, 20, inflow=inflow, begin=135.03).l_min == pytest.approx(19.0, rel=0.15)


def test_no_flow_is_none():
    assert Inflow().l_min == 0.0
    assert metered(0.0, 1.0).l_min == 0.0


@pytest.mark.parametrize(("quantum_l", "within_s"), [(1 / 450, 12), (0.1, 15), (1.0, 45)])
def test_a_shut_tap_is_known_for_shut(quantum_l, within_s):
    inflow = metered(19.0, quantum_l)
    shown = [metered(0.0, quantum_l, 1, inflow=inflow, begin=120.0 + k).l_min for k in range(within_s)]
    assert shown == sorted(shown, reverse=True)
    assert shown[-1] < 0.25 * 19.0
    assert metered(0.0, quantum_l, 60, inflow=inflow, begin=120.0 + within_s).l_min == 0.0


def test_a_trickle_that_ends_is_seen_to_end():
    inflow = metered(2.0, 3.785, 600)
    assert metered(0.0, 3.785, 300, inflow=inflow, begin=600.0).l_min < 1.0
    assert metered(0.0, 3.785, 300, inflow=inflow, begin=900.0).l_min == 0.0


@pytest.mark.parametrize(("quantum_l", "within_s"), [(1 / 450, 12), (0.1, 12), (1.0, 25)])
def test_an_opened_tap_is_known_for_open(quantum_l, within_s):
    inflow = metered(0.0, quantum_l, 60)
    assert metered(19.0, quantum_l, within_s, inflow=inflow, begin=60.0).l_min == pytest.approx(19.0, rel=0.25)


def test_a_meter_that_reports_seldom_gives_the_same_flow():
    assert metered(19.0, 1 / 450, 300, report_s=10.0).l_min == pytest.approx(19.0, rel=0.02)


# -- the tap ----------------------------------------------------------------------------------------------------------


def test_the_tap_is_what_it_has_shown_and_keeps_its_range():
    tap = Tap()
    for second in range(600):
        tap.learn(float(second), 18.0, 1.0)
    for second in range(600, 1200):
        tap.learn(float(second), 15.0, 1.0)
    assert tap.l_min == pytest.approx(15.0, abs=0.1)
    assert (tap.low_l_min, tap.high_l_min) == (pytest.approx(15.0, abs=0.1), 18.0)
    assert tap.since == 0.0


def test_a_trickle_or_a_shut_tap_teaches_nothing():
    tap = Tap()
    tap.learn(0.0, 18.0, 1.0)
    for second in range(600):
        tap.learn(float(second), 0.1, 1.0)
    assert tap.l_min == 18.0


def test_a_new_place_has_a_new_tap():
    tap = Tap()
    tap.learn(0.0, 18.0, 1.0)
    tap.new_place()
    assert (tap.l_min, tap.low_l_min, tap.high_l_min, tap.since) == (None, None, None, None)
