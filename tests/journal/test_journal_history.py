"""Any signal over any window: against plain arithmetic on what was put in."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from journal_events import AT, alarm, day, forecast, level

from monitor.journal import writer
from monitor.journal.faults import JournalFault
from monitor.journal.history import History, Signal
from monitor.journal.stored import Run, opened
from monitor.journal.stretches import stretches
from monitor.journal.writer import Journal
from monitor.readings import Pack, Record, WallStep

HOUR = 3600.0
HALVES = ("half_hour", "minute")


def keep(path, items, batch=400):
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock))
    for number, item in enumerate(items, 1):
        journal.put(item)
        if number % batch == 0:
            journal.step()
    journal.close()
    assert journal.status() == (True, "", "", 0, 0)


@pytest.fixture(scope="module")
def morning(tmp_path_factory):
    """Two hours and a bit, with a forecast every ten seconds."""
    path = tmp_path_factory.mktemp("journal") / "journal.db"
    events = list(day(8000))
    told = [forecast(AT + ten * 10.0, round(600.0 - ten / 6, 3)) for ten in range(800)]
    mixed = sorted([*events, *told], key=lambda item: item.at)
    keep(path, mixed)
    return History(path), mixed


def values(items, name):
    """Each value of a signal and its time."""
    for item in items:
        if name == "rig/volume" and not isinstance(item, Pack):
            yield item.at, item.volume_l
        elif isinstance(item, Pack):
            yield from ((item.at, float(record.value)) for record in item.records if record.name == name)


def expected(items, name, since, until, width):
    """Least, mean and most in each point, the plain way."""
    heaps = {}
    for at, value in values(items, name):
        if since <= at < until:
            heaps.setdefault((round(at * 1e6) - round(since * 1e6)) // width, []).append(value)
    return [
        (since + number * width / 1e6, min(heap), pytest.approx(math.fsum(heap) / len(heap)), max(heap), len(heap))
        for number, heap in sorted(heaps.items())
    ]


NAMES = ["tank/level", "inlet/total", "inlet/flow", "rides/running", "rig/volume"]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("since", "length", "points"), [(0, 60, 60), (100.5, 10.25, 1000), (3000, 3600, 720)])
def test_up_to_an_hour_comes_from_raw_readings(morning, name, since, length, points):
    history, items = morning
    (series,) = history.series([name], AT + since, AT + since + length, points)
    assert series.source == "raw"
    width = -(-round(length * 1e6) // points)
    assert [tuple(point) for point in series.points] == expected(items, name, AT + since, AT + since + length, width)
    assert len(series.points) <= points


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("minutes", "points"), [(133, 10_000), (120, 24), (90, 90)])
def test_longer_windows_come_from_the_minutes_and_what_is_not_in_them_yet(morning, name, minutes, points):
    """Windows of whole minutes: point for point the same as from the raw readings."""
    history, items = morning
    since = math.ceil(AT / 60) * 60.0
    until = since + minutes * 60
    (series,) = history.series([name], since, until, points)
    assert series.source == "minute"
    width = max(60_000_000, minutes * 60_000_000 // points)
    assert [tuple(point) for point in series.points] == expected(items, name, since, until, width)


@pytest.mark.parametrize("name", NAMES)
def test_where_no_point_is_shorter_than_half_an_hour_they_come_from_the_half_hours(morning, name):
    history, items = morning
    since, half_us = AT // 1800 * 1800, 1_800_000_000
    for halves, points in ((5, 5), (4, 2), (5, 1)):
        (series,) = history.series([name], since, since + halves * 1800, points)
        assert series.source == "half hour"
        width = -(-halves // points) * half_us
        assert [tuple(point) for point in series.points] == expected(items, name, since, since + halves * 1800, width)
    (finer,) = history.series([name], since, since + 5 * 1800, 6)
    assert finer.source == "minute"
    with opened(history.path) as reader:
        rolled, minutes = (reader.db.execute(f"select sum(n) from {table}").fetchone() for table in HALVES)
    assert rolled == minutes, "both tables were written, and tell of the same readings"


def test_several_signals_at_once_with_their_units(morning):
    history, _ = morning
    found = history.series([*NAMES, "nobody/knows"], AT, AT + 60, 10)
    assert [(series.name, series.unit) for series in found] == [
        ("tank/level", "m"), ("inlet/total", "l"), ("inlet/flow", "l/min"), ("rides/running", "bool"),
        ("rig/volume", "l"), ("nobody/knows", ""),
    ]  # fmt: skip
    assert found[-1].points == []
    assert Signal("tank/level", "m") in history.signals()
    assert Signal("rig/draw", "l/min") in history.signals()


@pytest.mark.parametrize(
    "window", [(AT, AT, 10), (AT + 1, AT, 10), (AT, AT + 1, 0), (AT, AT + 1, 10_001), (math.nan, AT, 9)]
)
def test_a_window_that_is_none_is_refused(morning, window):
    with pytest.raises(ValueError, match="a window rises"):
        morning[0].series(["tank/level"], *window)


def test_an_empty_window_has_no_points(morning):
    assert morning[0].series(["tank/level"], AT - 9000, AT - 100)[0].points == []
    assert morning[0].series(["tank/level"], AT + 90_000, AT + 90_100)[0].points == []


def test_the_past_volume_is_what_was_forecast(morning):
    history, items = morning
    told = [item for item in items if not isinstance(item, Pack)]
    latest = max(item.at for item in items)
    assert history.past(30) == [
        (each.at, round(each.volume_l, 3), each.volume_sd_l) for each in told if each.at > latest - 1800
    ]


def test_no_journal_is_said(tmp_path):
    with pytest.raises(JournalFault, match="no journal at"):
        History(tmp_path / "none.db").signals()


def test_a_new_journal_has_no_history(tmp_path):
    path = tmp_path / "journal.db"
    keep(path, [])
    assert History(path).past(60) == []
    assert History(path).signals() == []
    assert History(path).series(["tank/level"], AT, AT + 60)[0].points == []
    assert History(path).alarms(AT, AT + 60) == []


def test_what_was_sent_late_stands_where_it_was_measured(tmp_path):
    records = tuple(Record("tank/level", "m", number / 10, stamp=float(number - 9)) for number in range(10))
    late = Pack(AT + 100, "mqtt 1", "tank", records)
    keep(tmp_path / "journal.db", [level(AT + 80), late, level(AT + 101, 2.0)])
    (series,) = History(tmp_path / "journal.db").series(["tank/level"], AT + 90, AT + 102, 12)
    expected = [*((91 + number, number / 10) for number in range(10)), (101, 2.0)]
    assert [(point.at - AT, point.mean) for point in series.points] == expected


def test_a_retained_reading_is_no_history(tmp_path):
    keep(tmp_path / "journal.db", [level(AT)._replace(retained=True), level(AT + 1)])
    (series,) = History(tmp_path / "journal.db").series(["tank/level"], AT, AT + 60)
    assert [point.n for point in series.points] == [1]


def test_values_that_are_no_numbers_are_left_out(tmp_path):
    keep(tmp_path / "journal.db", [level(AT, math.inf), level(AT + 1, 0.5), level(AT + 2, -math.inf)])
    (series,) = History(tmp_path / "journal.db").series(["tank/level"], AT, AT + 60, 1)
    assert [(point.lo, point.hi, point.n) for point in series.points] == [(0.5, 0.5, 1)]


def test_where_the_unit_changed_the_newest_is_shown(tmp_path):
    litres = [Pack(AT + 9, "mqtt 1", "tank", (Record("tank/level", "l", 604.0),))]
    keep(tmp_path / "journal.db", [level(AT), *litres])
    (series,) = History(tmp_path / "journal.db").series(["tank/level"], AT, AT + 60, 1)
    assert (series.unit, series.points[0].mean, series.points[0].n) == ("l", 604.0, 1)


def test_a_wall_clock_that_was_set_late_puts_the_whole_run_in_its_place(tmp_path):
    """Started without a clock in 1970; the network brought the time after a minute."""
    path = tmp_path / "journal.db"
    events = list(day(120, start=100.0))
    step = WallStep(160.005, AT + 160.005)
    keep(path, sorted([*events, step, forecast(200.0), alarm(210.0)], key=lambda item: item.at))
    history = History(path)
    (series,) = history.series(["tank/level"], AT + 100, AT + 220, 1)
    assert series.points[0].n == 1200
    assert history.series(["tank/level"], 0, 500, 1)[0].points == []
    assert [change.at for change in history.alarms(AT, AT + 300)] == [AT + 210.0]
    assert history.past(60) == [(200.0, 604.0, 3.2)]


def test_a_day_lived_twice_shows_the_second(tmp_path):
    path = tmp_path / "journal.db"
    keep(path, [level(AT + number, 1.0) for number in range(100)])
    keep(path, [level(AT + 50 + number, 2.0) for number in range(100)])
    (series,) = History(path).series(["tank/level"], AT, AT + 200, 200)
    assert [point.mean for point in series.points] == [1.0] * 50 + [2.0] * 100


def test_after_a_restart_the_past_goes_on(tmp_path):
    path = tmp_path / "journal.db"
    keep(path, [forecast(AT), forecast(AT + 10)])
    keep(path, [forecast(AT + 60)])
    assert [at - AT for at, _, _ in History(path).past(5)] == [0, 10, 60]


def test_what_was_not_rolled_up_before_the_end_is_rolled_up_after(tmp_path):
    """Every ending but one in the middle of five minutes: nothing is counted twice, nothing is lost."""
    path = tmp_path / "journal.db"
    events = list(day(3000))
    for start in range(0, len(events), 2500):
        keep(path, events[start : start + 2500], 171)
    since = math.floor(AT / 60) * 60.0
    (series,) = History(path).series(["tank/level"], since, since + 7200, 1)
    (point,) = series.points
    levels = [value for _, value in values(events, "tank/level")]
    assert (point.lo, point.hi, point.n) == (min(levels), max(levels), len(levels))
    assert point.mean == pytest.approx(math.fsum(levels) / len(levels))


def test_the_minutes_are_written_every_five_minutes_not_every_minute(tmp_path):
    path = tmp_path / "journal.db"
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock))
    counts = []
    for number in range(31):
        journal.put(level(AT + number * 60))
        journal.step()
        with opened(path) as reader:
            counts.append(reader.db.execute("select count(*) from minute").fetchone()[0])
    journal.close()
    assert sorted(set(counts)) == [0, 6, 11, 16, 21, 26, 31]


def test_too_many_signals_to_be_true_are_kept_but_not_rolled_up(tmp_path, monkeypatch):
    monkeypatch.setattr("monitor.journal.rollup.MOST_SIGNALS", 5)
    records = [Pack(AT + n, "mqtt 1", "x", (Record(f"x/{n}", "m", 1.0),)) for n in range(20)]
    keep(tmp_path / "journal.db", records)
    assert len(History(tmp_path / "journal.db").signals()) == 5


spans = st.lists(st.tuples(st.integers(0, 30), st.integers(0, 12), st.integers(-5, 5)), max_size=8)


@settings(max_examples=300)
@given(spans, st.integers(0, 40), st.integers(1, 20))
def test_of_runs_that_overlap_the_later_counts(made, since, length):
    runs = [Run(n, a, a + b, shift, 0, "start") for n, (a, b, shift) in enumerate(made, 1)]
    covered = {}
    for run in runs:
        covered |= dict.fromkeys(range(run.began_us + run.shift_us, run.upto_us + run.shift_us + 1), run)
    found = {}
    for stretch in stretches(runs, since, since + length):
        for at in range(stretch.from_us, stretch.upto_us):
            assert at + stretch.run.shift_us not in found
            found[at + stretch.run.shift_us] = stretch.run
    assert found == {at: run for at, run in covered.items() if since <= at < since + length}
    assert list(found) == sorted(found)


def test_writing_is_paced_as_the_tests_believe():
    assert writer.EVERY_S == 5.0
