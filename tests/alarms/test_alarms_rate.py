"""The yardstick of EEMUA 191: worked days by hand, and windows against counting them all."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.alarms.rate import Flood, floods, most_in_ten_min, report, standings, verdict
from monitor.changes import AlarmChange

HOUR_S = 3600.0


def change(at, alarm, state, subject="", priority="high", by=""):
    return AlarmChange(at, alarm, priority, state, subject, by)


def told(at, alarm="leak", **more):
    return change(at, alarm, "unacknowledged", **more)


# EEMUA Publication 191 and ANSI/ISA-18.2-2016 clause 16: about 1 in ten minutes (6 an hour, 150 a day), at most about 2
# (12 an hour, 300 a day); over 10 in ten minutes is a flood. 150 and 300 a day are from memory.
@pytest.mark.parametrize(
    ("alarms", "span_s", "judged"),
    [
        (6, HOUR_S, "acceptable"),
        (144, 24 * HOUR_S, "acceptable"),
        (7, HOUR_S, "manageable"),
        (12, HOUR_S, "manageable"),
        (288, 24 * HOUR_S, "manageable"),
        (13, HOUR_S, "too many"),
    ],
)
def test_the_average_against_the_yardstick(alarms, span_s, judged):
    changes = [told(span_s * i / alarms) for i in range(alarms)]
    assert report(changes, 0.0, span_s).verdict == judged


def test_verdicts_at_the_edges():
    assert [verdict(rate) for rate in (0.0, 1.0, 1.001, 2.0, 2.001)] == [
        "acceptable", "acceptable", "manageable", "manageable", "too many",
    ]  # fmt: skip


def test_ten_in_ten_minutes_are_no_flood_and_eleven_are():
    times = [float(i) for i in range(10)]
    assert floods(times, 5000.0) == []
    # the eleventh begins it at 10 s; the fifth from the end, at 6 s, leaves the ten minutes at 606 s
    assert floods([*times, 10.0], 5000.0) == [Flood(10.0, 606.0, 11)]


def test_a_flood_goes_on_while_five_come_in_ten_minutes():
    times = [*(float(i) for i in range(11)), *(120.0 * i for i in range(1, 11))]
    assert floods(times, 5000.0) == [Flood(10.0, 720.0 + 600.0, 21)]
    assert floods(times, 1000.0) == [Flood(10.0, None, 21)]


def test_two_floods():
    times = [*(float(i) for i in range(12)), *(5000.0 + i for i in range(11))]
    assert floods(times, 9000.0) == [Flood(10.0, 607.0, 12), Flood(5010.0, 5606.0, 11)]


rising = st.lists(st.integers(0, 3000), max_size=60).map(lambda times: sorted(float(at) for at in times))


@given(rising)
def test_the_fullest_ten_minutes_is_the_fullest_of_all(times):
    assert most_in_ten_min(times) == max((sum(at - 600 < t <= at for t in times) for at in times), default=0)


@given(rising)
def test_floods_begin_where_too_many_lie_behind_and_end_where_few_do(times):
    def behind(at):
        return sum(at - 600 < t <= at for t in times)

    inside = set()
    running = False
    for second in range(4000):  # walked through second by second
        running = behind(second) >= 5 if running else behind(second) > 10
        inside |= {second} if running else set()
    found = floods(times, 4000.0)
    assert inside == {s for f in found for s in range(int(f.begun), int(f.ended or 4000))}


def test_a_day_by_hand():
    changes = [
        told(-500.0, "node-lost", subject="tank"),  # stood before the day began
        change(100.0, "node-lost", "returned to normal unacknowledged", subject="tank"),
        change(150.0, "node-lost", "normal", subject="tank", by="Ana"),
        told(200.0, "pump-starved", subject="Rides", priority="critical"),
        change(205.0, "pump-starved", "acknowledged", subject="Rides", priority="critical", by="Ana"),
        told(210.0, "pump-starved", subject="Stalls", priority="critical"),
        change(300.0, "pump-starved", "normal", subject="Rides", priority="critical"),
        told(400.0, "pump-starved", subject="Rides", priority="critical"),
        change(500.0, "level-signal", "suppressed by design", subject="tank/level"),  # never told
        told(600.0, "journal", priority="low"),
        change(900.0, "journal", "shelved", priority="low"),
        change(1000.0, "pump-starved", "returned to normal unacknowledged", subject="Stalls", priority="critical"),
        told(7000.0, "leak"),  # after the end
    ]
    found = report(changes, 0.0, 1200.0)
    assert (found.told, found.in_ten_min, found.verdict, found.most_in_ten_min) == (4, 2.0, "manageable", 4)
    assert found.floods == ()
    assert found.by_priority == {"critical": 3, "low": 1}
    assert [tuple(one) for one in found.offenders] == [
        ("pump-starved", "Rides", 2, 0.5, 100.0 + 800.0),
        ("pump-starved", "Stalls", 1, 0.25, 790.0),
        ("journal", "", 1, 0.25, 300.0),
        ("node-lost", "tank", 0, 0.0, 100.0),
    ]
    assert [tuple(one)[:6] for one in found.stood] == [
        ("node-lost", "tank", -500.0, 100.0, None, ""),
        ("pump-starved", "Rides", 200.0, 300.0, 205.0, "Ana"),
        ("pump-starved", "Stalls", 210.0, 1000.0, None, ""),
        ("pump-starved", "Rides", 400.0, None, None, ""),
        ("journal", "", 600.0, 900.0, None, ""),
    ]


def test_a_quiet_day():
    found = report([], 0.0, HOUR_S)
    assert (found.told, found.verdict, found.offenders, found.stood) == (0, "acceptable", (), ())


def test_a_follower_released_as_acknowledged_stands_without_being_told_again():
    changes = [change(10.0, "water-low", "acknowledged"), change(30.0, "water-low", "normal")]
    assert [(one.begun, one.ended) for one in standings(changes)] == [(10.0, 30.0)]
    assert report(changes, 0.0, 100.0).told == 0


def test_no_time_is_no_rate():
    with pytest.raises(ValueError, match="give an end after the start"):
        report([], 5.0, 5.0)
