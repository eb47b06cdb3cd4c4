"""A cut carries what still stood: last readings dated back, words of nodes, the wall clock, acts that hold."""

import pytest

from monitor.readings import Act, Alive, Pack, Passing, Record, Reject, WallStep
from monitor.wire.cut import by_wall, cut

FEED = "mqtt 1"


def pack(at, name, value, unit="l", node="inlet", **how):
    stamp = how.pop("stamp", 0.0)
    return Pack(at, FEED, node, (Record(f"{node}/{name}", unit, value, stamp=stamp),), **how)


def cut_at(events, since=100.0, until=200.0, passed=lambda event: None):
    return list(cut(by_wall(events), since, until, passed))


def test_it_keeps_what_was_told_from_one_time_up_to_before_another():
    day = [pack(float(at), "total", at) for at in range(90, 210, 10)]
    told = cut_at(day)
    assert told[1:-1] == day[1:11]
    assert told[-1] == Passing(200.0)


def test_the_last_of_each_reading_goes_before_dated_back_to_when_it_was_said():
    first = Pack(20.0, FEED, "inlet", (Record("inlet/total", "l", 5.0), Record("inlet/seq", "count", 7.0, stamp=-1.0)))
    told = cut_at([first, pack(60.0, "total", 6.0), pack(70.0, "level", 0.4, "m", "tank"), pack(100.0, "total", 7.0)])
    assert told[0] == Pack(
        100.0, FEED, "inlet",
        (Record("inlet/total", "l", 6.0, stamp=-40.0), Record("inlet/seq", "count", 7.0, stamp=-81.0)),
    )  # fmt: skip
    assert told[1].records == (Record("tank/level", "m", 0.4, stamp=-30.0),)
    assert told[1].at == pytest.approx(100.000001, abs=1e-7)


def test_what_a_node_s_own_clock_said_is_left_as_it_is():
    told = cut_at([pack(20.0, "total", 5.0, stamp=1.7e9), pack(100.0, "total", 7.0)])
    assert told[0].records[0].stamp == 1.7e9


def test_retained_readings_stay_retained_and_apart():
    told = cut_at([pack(20.0, "total", 5.0, retained=True), pack(30.0, "total", 6.0), pack(110.0, "total", 7.0)])
    assert [(event.retained, event.records[0].value) for event in told[:2]] == [(True, 5.0), (False, 6.0)]


def test_a_node_that_was_gone_is_gone_and_one_that_came_back_is_back():
    gone, up = Alive(40.0, FEED, "tank", False), Alive(50.0, FEED, "tank", True)
    read = pack(30.0, "level", 0.4, "m", "tank")
    last = pack(100.0, "total", 7.0)
    assert [type(event) for event in cut_at([read, gone, last])[:2]] == [Pack, Alive]
    assert not cut_at([read, gone, last])[1].up
    assert cut_at([read, gone, up, last])[1].up


@pytest.mark.parametrize(
    ("acts", "carried"),
    [
        ([Act(20.0, "packing-up")], ["packing-up"]),
        ([Act(20.0, "packing-up"), Act(30.0, "new-place")], []),
        ([Act(20.0, "packing-up"), Act(30.0, "packing-up", detail={"on": False})], ["packing-up"]),
        ([Act(-900.0, "dumping"), Act(10.0, "filling-past-meter")], ["filling-past-meter"]),
        ([Act(10.0, "acknowledge", alarm="dry"), Act(20.0, "it-stands-here", detail={"volume_l": 5.0})], []),
    ],
)
def test_of_what_people_said_what_still_holds_is_carried(acts, carried):
    told = [event for event in cut_at([*acts, Passing(150.0)]) if isinstance(event, Act)]
    assert [act.act for act in told] == carried
    assert [act.detail for act in told] == [act.detail for act in acts if act.act in carried][-1:]


def test_garble_of_before_is_left_out():
    assert cut_at([Reject(20.0, FEED, "crc", "why"), Passing(150.0)]) == [Passing(150.0)]


def test_times_are_those_of_the_wall_also_after_it_was_stepped():
    day = [Passing(10.0), WallStep(20.0, 1020.0), Passing(95.0), Passing(110.0), Passing(205.0)]
    assert cut_at(day, 1100.0, 1200.0) == [WallStep(100.0, 1100.0), Passing(110.0), Passing(200.0)]


def test_what_goes_before_is_passed_on_up_to_the_cut():
    seen = []
    day = [pack(20.0, "total", 5.0), Passing(99.0), Passing(101.0), Passing(102.0)]
    cut_at(day, passed=seen.append)
    assert seen == [*day[:2], Passing(100.0)]


def test_a_cut_of_nothing_is_empty():
    assert cut_at([]) == []
    assert cut_at([Passing(50.0)]) == []
