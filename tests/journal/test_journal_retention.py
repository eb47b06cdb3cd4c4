"""What goes when the journal grows old or big, and what never goes."""

import itertools

import pytest
from journal_events import AT, alarm, forecast, level

from monitor.journal import schema
from monitor.journal.history import History
from monitor.journal.rebuild import changes, rebuild
from monitor.journal.retention import Keep, dates, thin
from monitor.journal.schema import used_bytes
from monitor.journal.stored import Run, opened
from monitor.journal.writer import Journal
from monitor.readings import Act, Alive, Reject

HOUR = 3600.0
DAY = 86400.0
ALL = Keep(raw_days=1e6, size_mb=1e6, minute_years=1e6)


@pytest.fixture(autouse=True)
def careless(monkeypatch):
    """Nobody cuts the power here: days are written in seconds."""
    monkeypatch.setattr(schema, "PRAGMAS", ("journal_mode = wal", "synchronous = off", "secure_delete = off"))


def write(path, items, keep):
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock), keep=keep)
    for item in items:
        journal.put(item)
        journal.step()
    journal.close()
    assert journal.status() == (True, "", "", 0, 0)


def days(many, start=AT, pause=600.0):
    """A reading, an act, an alarm and a forecast every so many seconds, and some of the rest."""
    steps = round(many * DAY / pause)
    for number in range(steps):
        at = start + number * pause
        yield level(at, number * 0.001)
        if number % 20 == 0:
            yield Alive(at + 1, "mqtt 1", "tank", True)
            yield Reject(at + 2, "mqtt 1", "crc", "why", "raw")
            yield Act(at + 3, "acknowledge", "Ana", "water-low")
            yield alarm(at + 3)
            yield forecast(at + 4)


def kept(path):
    with opened(path) as reader:
        tables = ("readings", "alive", "reject", "forecast", "act", "alarm_change")
        return {table: reader.db.execute(f"select count(*) from {table}").fetchone()[0] for table in tables}


def test_old_readings_go_an_hour_at_a_time_and_alarms_and_acts_stay(tmp_path):
    whole, path = tmp_path / "whole.db", tmp_path / "journal.db"
    write(whole, days(6), ALL)
    write(path, days(6), Keep(raw_days=2))
    before, after = kept(whole), kept(path)
    assert (after["act"], after["alarm_change"]) == (before["act"], before["alarm_change"])
    raw = [event.at for event in rebuild(path) if not isinstance(event, Act)]
    assert AT + 1 * DAY < raw[0] < AT + 2.1 * DAY  # two days, and two of grace for a clock that is wrong
    assert [e for e in rebuild(path, raw[0]) if not isinstance(e, Act)] == [
        e for e in rebuild(whole, raw[0]) if not isinstance(e, Act)
    ]
    assert {change.at for change in changes(path)} >= {change.at for change in changes(whole) if change.at > raw[0]}


def test_the_minutes_of_what_is_gone_are_still_shown(tmp_path):
    whole, path = tmp_path / "whole.db", tmp_path / "journal.db"
    write(whole, days(6), ALL)
    write(path, days(6), Keep(raw_days=2))
    for window in ((AT, AT + 6 * DAY), (AT + DAY - 40, AT + DAY - 40 + HOUR)):  # from a whole minute
        (gone,) = History(path).series(["tank/level"], *window)
        (there,) = History(whole).series(["tank/level"], *window)
        assert sum(point.n for point in gone.points) == sum(point.n for point in there.points)
        assert gone.source == "minute"
        assert there.source == ("raw" if window[0] > AT else "minute")


def test_a_small_file_stays_small_and_keeps_the_newest_two_hours(tmp_path):
    path = tmp_path / "journal.db"
    write(path, days(3, pause=60), Keep(raw_days=1e6, size_mb=0.2))
    with opened(path) as reader:
        newest = max(run.upto_us for run in reader.runs.values()) / 1e6
    at = [event.at for event in rebuild(path) if not isinstance(event, Act)]
    assert newest - at[0] >= 2 * HOUR
    write(tmp_path / "whole.db", days(3, pause=60), ALL)
    with opened(path) as reader, opened(tmp_path / "whole.db") as whole:
        assert used_bytes(reader.db) < 0.9 * used_bytes(whole.db)


def test_a_clock_that_is_wrong_for_a_day_and_its_midnight_makes_nothing_old(tmp_path):
    path = tmp_path / "journal.db"
    write(path, days(1), Keep(raw_days=30))
    write(path, days(0.8, start=AT + 3000 * DAY), Keep(raw_days=30))
    write(path, days(0.5, start=AT + 1.2 * DAY), Keep(raw_days=30))
    assert next(rebuild(path)).at == AT
    assert len([event for event in rebuild(path) if not isinstance(event, Act | Alive | Reject)]) == 331


def test_a_run_is_never_older_than_the_one_before_it():
    runs = {n: Run(n, began, began + 10, 0, 0, "start") for n, began in enumerate([1000, 5, 2000, 1500], 1)}
    assert dates(runs) == {1: 1000, 2: 1000, 3: 2000, 4: 2000}


@pytest.mark.parametrize(("years", "left"), [(1, False), (1e6, True)])
def test_minutes_go_by_whole_runs_after_years(tmp_path, years, left):
    path = tmp_path / "journal.db"
    keep = Keep(raw_days=1e6, size_mb=1e6, minute_years=years)
    write(path, days(0.2), keep)
    write(path, days(2.5, start=AT + 400 * DAY), keep)
    (series,) = History(path).series(["tank/level"], AT - DAY, AT + DAY)
    assert bool(series.points) is left
    (series,) = History(path).series(["tank/level"], AT - DAY, AT + DAY, 24)
    assert series.source == "half hour"
    assert bool(series.points) is left
    for points in (1000, 24):
        assert History(path).series(["tank/level"], AT + 400 * DAY, AT + 403 * DAY, points)[0].points


def test_nothing_is_taken_from_an_empty_journal(tmp_path):
    path = tmp_path / "journal.db"
    write(path, [], ALL)
    with opened(path) as reader:
        assert thin(reader.db, Keep(raw_days=0, size_mb=0, minute_years=0)) is False
