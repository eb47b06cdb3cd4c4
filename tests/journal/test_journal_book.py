"""The book: each day's water, by pump, out of the journal; and held against the simulated world's truth."""

import csv
import itertools
from datetime import UTC

import pytest
from journal_events import AT, alarm, forecast, level

from monitor.changes import Forecast
from monitor.core import Core
from monitor.feeds.simulated import read
from monitor.journal.book import book, book_csv
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
    (day,) = book(ten_minutes, PUMPS, UTC)
    assert day.day == "2026-11-25"
    assert day.watched_s == pytest.approx(600.0)
    assert day.in_l == pytest.approx(265.0)
    assert day.used_l == pytest.approx(387.5)
    assert day.by_pump_l == pytest.approx((227.0, 0.0))
    assert day.untold_l == pytest.approx(160.5)


def test_nothing_is_counted_where_nobody_watched(tmp_path):
    items = [(level(at), forecast(at)) for at in (AT, AT + 10, AT + 3000, AT + 3010)]
    (day,) = book(kept(tmp_path / "journal.db", itertools.chain(*items)), PUMPS, UTC)
    assert day.watched_s == pytest.approx(20.0)


def test_the_csv_has_its_units_in_the_headings_and_a_sum(ten_minutes):
    heading, first, last = csv.reader(book_csv(ten_minutes, PUMPS, UTC, "us"))
    assert heading[2:] == [
        "water in (gal)", "water used (gal)", "Rides (gal)", "Stalls (gal)", "not told apart (gal)", "alarms",
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
        items += [event, *(change for change in core.take(event) if isinstance(change, Forecast))]
    names = [pump.name for pump in core.rig.pumps]
    days = book(kept(tmp_path / "journal.db", items), names, UTC)
    truths = [story.truth(story.start_at + s, 0.0) for s in range(1800)]
    assert sum(d.in_l for d in days) == pytest.approx(sum(t.inflow_l_min for t in truths) / 60.0, rel=0.05)
    assert sum(d.used_l for d in days) == pytest.approx(
        sum(sum(t.draw_l_min.values()) for t in truths) / 60.0, rel=0.05
    )
