"""Water from running totals: nothing invented, nothing lost but what a reboot hides."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.balance.totals import MOST_L_MIN, NOTHING, Passed, Totals

PULSES_PER_L = 450.0


def fed(totals, *readings):
    """The water of each reading (total, time_s), at 20 l/min."""
    return [totals.take(total, time_s, lambda: 20.0) for total, time_s in readings]


def test_the_first_total_only_starts_the_count():
    assert fed(Totals(), (5000.0, 1.0), (5001.5, 2.0)) == [NOTHING, Passed(1.5)]


def test_a_lost_packet_loses_nothing():
    assert fed(Totals(), (0.0, 0.0), (9.0, 60.0))[1].litres == 9.0


def test_the_same_total_again_passes_nothing():
    assert fed(Totals(), (10.0, 0.0), (12.0, 10.0), (12.0, 10.0), (12.0, 12.0))[2:] == [Passed(0.0)] * 2


def test_a_late_total_is_passed_over_and_does_not_move_the_count_back():
    totals = Totals()
    assert [p.litres for p in fed(totals, (10.0, 0.0), (14.0, 20.0), (12.0, 10.0), (15.0, 25.0))] == [0, 4, 0, 1]


def test_a_reboot_counts_from_zero_and_owns_up_to_what_it_did_not_see():
    _, after = fed(Totals(), (5000.0, 0.0), (1.0, 30.0))
    assert after == Passed(1.0, unseen_l=10.0, restarted=True)  # 20 l/min for half a minute


@pytest.mark.parametrize("most", [2.0**16, 2.0**32])
def test_a_counter_rolls_over_where_counters_do(most):
    totals = Totals(1 / PULSES_PER_L, counts=True)
    before, after = most - 450, 449
    _, passed = fed(totals, (before, 0.0), (after, 60.0))
    assert passed.litres == pytest.approx(899 / PULSES_PER_L)
    assert not passed.restarted
    assert passed.unseen_l == 0.0


@pytest.mark.parametrize(("before", "after"), [(40_000, 100), (2.0**16 - 450, 40_000), (2.0**20, 5)])
def test_a_fall_from_elsewhere_is_a_reboot(before, after):
    _, passed = fed(Totals(1 / PULSES_PER_L, counts=True), (before, 0.0), (after, 60.0))
    assert passed.restarted


def test_litres_never_roll_over():
    _, passed = fed(Totals(), (65_535.0, 0.0), (1.0, 10.0))
    assert passed.restarted


def test_a_step_no_meter_passes_is_not_believed_and_the_next_one_is():
    _, odd, honest = fed(Totals(), (100.0, 0.0), (100_000.0, 1.0), (100_001.0, 4.0))
    assert odd.odd
    assert odd.litres == 0.0
    assert honest == Passed(1.0)


def test_the_count_goes_on_where_it_was_saved():
    totals, again = Totals(), Totals()
    fed(totals, (70.0, 0.0), (72.0, 10.0))
    again.restore(totals.save())
    assert again.take(75.0, 600.0) == Passed(3.0)
    assert Totals().save() is None
    Totals().restore(None)


# -- no water invented, whatever the radio does ---------------------------------------------------------------------

steps = st.lists(st.tuples(st.floats(0.5, 20.0), st.floats(0.0, 1.0)), min_size=2, max_size=40)
fates = st.lists(st.tuples(st.booleans(), st.integers(1, 3), st.floats(0.0, 60.0)), min_size=40, max_size=40)


def packets(steps):
    """True totals as the node sends them: (sent_s, litres), at up to the most a meter passes."""
    sent_s, litres, all_ = 0.0, 1234.5, []
    for gap_s, share in steps:
        sent_s += gap_s
        litres += share * gap_s * MOST_L_MIN / 60.0
        all_.append((sent_s, litres))
    return all_


def arrivals(sent, fates):
    """Some are lost, some come twice or three times, each copy late by its own delay; in order of arrival."""
    kept = [
        (sent_s + copy * delay_s, sent_s, total)
        for (sent_s, total), (lost, copies, delay_s) in zip(sent, fates, strict=False)
        if not lost
        for copy in range(copies)
    ]
    return sorted(kept)


@given(steps, fates)
def test_no_water_is_invented_by_loss_copies_and_late_arrival(steps, fates):
    totals, believed, seen = Totals(), 0.0, []
    for _, sent_s, total in arrivals(packets(steps), fates):
        seen.append(total)
        passed = totals.take(total, sent_s)
        believed += passed.litres
        assert passed.litres >= 0.0
        assert not passed.restarted
        assert believed <= max(seen) - seen[0] + 1e-6


@given(steps, fates)
def test_all_water_is_there_once_the_last_packet_has_come(steps, fates):
    sent = packets(steps)
    fates[len(sent) - 1] = (False, 1, 0.0)
    came = arrivals(sent, fates)
    totals = Totals()
    believed = sum(totals.take(total, sent_s).litres for _, sent_s, total in came)
    assert believed == pytest.approx(sent[-1][1] - came[0][2], abs=1e-6)


@given(st.integers(1, 2**16 - 1), st.lists(st.integers(0, 400), min_size=1, max_size=60))
def test_a_rolling_counter_passes_what_truly_passed(start, steps):
    totals, count, truly = Totals(1 / PULSES_PER_L, counts=True), start, 0
    totals.take(float(start), 0.0)
    believed = 0.0
    for second, pulses in enumerate(steps, 1):
        count = (count + pulses) % 2**16
        truly += pulses
        believed += totals.take(float(count), float(second)).litres
    assert believed == pytest.approx(truly / PULSES_PER_L)


@given(st.lists(st.tuples(st.floats(0.0, 5.0), st.booleans()), min_size=2, max_size=60))
def test_reboots_hide_water_but_never_invent_any(steps):
    """Each second some litres pass; a node that reboots has lost its count, and counts from zero again."""
    totals, counted, truly, believed = Totals(), 100.0, 0.0, 0.0
    totals.take(counted, 0.0)
    for second, (litres, reboots) in enumerate(steps, 1):
        truly += litres
        counted = litres / 2 if reboots else counted + litres  # half of it ran before the restart
        believed += totals.take(counted, float(second)).litres
        assert believed <= truly + 1e-9
