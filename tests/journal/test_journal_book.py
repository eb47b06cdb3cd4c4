"""The book: each day's water, by pump, out of the journal; and held against the simulated world's truth."""

import csv
import itertools
from datetime import UTC
from zoneinfo import ZoneInfo

import pytest
from journal_events import AT, alarm, forecast, level
from sqlite_utils import Database

from monitor.changes import Tally
from monitor.core import Core
from monitor.feeds.simulated import read
from monitor.journal.book import book, book_csv, month_span
from monitor.journal.writer import Journal
from monitor.rig.load import parse
from simulated_feeds import open_scenario

PUMPS = ["Rides", "Stalls"]


def kept(path, items):
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock))
    for number, item in enumerate(items, 1):
        journal.put(item)
        if number % 100 == 0:
            journal.step()
    journal.close()
    return path


@pytest.fixture
def ten_minutes(tmp_path):
    items = [(level(AT + 10 * n), forecast(AT + 10 * n)) for n in range(61)]
    return kept(tmp_path / "journal.db", [*itertools.chain(*items), alarm(AT + 600.5)])


def test_a_days_water_by_pump(ten_minutes):
    (day,) = book(ten_minutes, UTC)
    assert day.day == "2026-11-25"
    assert day.watched_s == pytest.approx(600.0)
    assert day.in_l == pytest.approx(265.0)
    assert day.used_l == pytest.approx(387.5)
    assert day.pumps_l == pytest.approx({"Rides": 227.0})
    assert day.untold_l == pytest.approx(160.5)


def tally(at, began, **figures):
    usual = {"watched_s": at - began, "in_l": 10.0, "used_l": 20.0, "pumps_l": {"Rides": 20.0}, "chemical_l": {}}
    return Tally(at, began, usual | figures)


def test_what_was_counted_stands_when_what_was_believed_has_gone(tmp_path):
    """A row for each quarter; forecasts tell only of what no row covers."""
    items = [(level(AT + 10 * n), forecast(AT + 10 * n)) for n in range(91)]
    rows = [tally(AT + 600, AT + 300, chemical_l={"Rides": 0.5})]
    path = kept(tmp_path / "journal.db", [*itertools.chain(*items), *rows, level(AT + 901)])
    (day,) = book(path, UTC)
    believed_s = 290.0 + 300.0  # up to the last forecast before the row, and from the row on
    assert day.watched_s == pytest.approx(300.0 + believed_s)
    assert day.used_l == pytest.approx(20.0 + 38.75 * believed_s / 60.0)
    assert day.chemical_l == {"Rides": 0.5}
    Database(path)["forecast"].delete_where()
    (day,) = book(path, UTC)
    assert (day.watched_s, day.used_l, day.in_l) == (300.0, 20.0, 10.0)


def test_a_row_counted_further_after_a_restart_is_counted_once(tmp_path):
    rows = [tally(AT + 600, AT, used_l=20.0), level(AT + 700), tally(AT + 900, AT, used_l=30.0)]
    (day,) = book(kept(tmp_path / "journal.db", [level(AT), *rows, level(AT + 901)]), UTC)
    assert day.used_l == 30.0


def test_a_row_given_out_after_a_night_is_of_the_day_it_was_counted_on(tmp_path):
    """The forecasts of that evening are covered by it, and December's book has nothing of it."""
    evening, morning = AT + 600, AT + 50_000
    rows = [level(AT), forecast(AT + 10), forecast(AT + 20), level(evening), level(morning)]
    late = tally(morning, AT, ended=evening, watched_s=600.0)
    path = kept(tmp_path / "journal.db", [*rows, late, level(morning + 1)])
    (day,) = book(path, UTC)
    assert (day.day, day.watched_s) == ("2026-11-25", 600.0)
    assert book(path, UTC, since=AT + 40_000) == []


def test_a_row_that_ends_at_midnight_is_of_the_day_it_ends(tmp_path):
    midnight = 1_795_564_800.0  # 2026-11-25 00:00 UTC
    rows = [level(midnight - 900), tally(midnight, midnight - 900), level(midnight + 1)]
    assert [day.day for day in book(kept(tmp_path / "journal.db", rows), UTC)] == ["2026-11-24"]


def test_a_month_is_the_rigs_own_and_others_days_are_left_out(tmp_path):
    zone = ZoneInfo("America/Chicago")
    since, until = month_span("2026-11", zone)
    assert until - since == 30 * 86_400 + 3600, "clocks go back in November"
    before, after = tally(since - 900, since - 1800), tally(since + 900, since)
    rows = [level(since - 950), before, level(since), after, level(since + 901)]
    (day,) = book(kept(tmp_path / "journal.db", rows), zone, since, until)
    assert day.day == "2026-11-01"
    with pytest.raises(ValueError):
        month_span("November", zone)


def test_nothing_is_counted_where_nobody_watched(tmp_path):
    items = [(level(at), forecast(at)) for at in (AT, AT + 10, AT + 3000, AT + 3010)]
    (day,) = book(kept(tmp_path / "journal.db", itertools.chain(*items)), UTC)
    assert day.watched_s == pytest.approx(20.0)


def test_the_csv_has_its_units_in_the_headings_and_a_sum(ten_minutes):
    heading, first, last = csv.reader(book_csv(book(ten_minutes, UTC), PUMPS, "us"))
    assert heading[2:] == [
        "water in (gal)", "water used (gal)", "Rides (gal)", "Stalls (gal)", "not told apart (gal)",
        "chemical (gal)", "alarms", "answered",
    ]  # fmt: skip
    assert first[3] == last[3] == "102.4"
    assert last[0] == "sum"


def test_the_book_agrees_with_the_worlds_truth(tmp_path):
    """Half an hour of the fairground: in by the meter, used by the balance, against what really flowed."""
    story = open_scenario("fairground", seed=1)
    core, until = Core(parse(story.rig_toml)), story.start_at + 1800.0
    items = []
    for said in story.advance(until):
        event = read(said, "simulated 1")
        items += [event, *core.take(event)]
    days = book(kept(tmp_path / "journal.db", items), UTC)
    truths = [story.truth(story.start_at + s, 0.0) for s in range(1800)]
    assert sum(d.in_l for d in days) == pytest.approx(sum(t.inflow_l_min for t in truths) / 60.0, rel=0.05)
    assert sum(d.used_l for d in days) == pytest.approx(
        sum(sum(t.draw_l_min.values()) for t in truths) / 60.0, rel=0.05
    )
