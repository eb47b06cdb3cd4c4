"""The journal for others: CSV, the recorded feed, back-ups, and the page that says what is in it."""

import csv
import itertools
import shutil
import sqlite3
from datetime import timedelta, timezone

import pytest
from journal_events import AT, alarm, day, forecast, level

from monitor.journal.describe import check, summary
from monitor.journal.export import alarms_csv, backup, forecasts_csv, readings_csv, recorded
from monitor.journal.faults import JournalFault
from monitor.journal.rebuild import rebuild
from monitor.journal.writer import Journal
from monitor.readings import Act, Pack, Record, Reject, WallStep
from monitor.wire.recorded import read_line


@pytest.fixture
def path(tmp_path):
    return tmp_path / "journal.db"


@pytest.fixture
def keep(path):
    def write(items):
        clock = itertools.count(step=5)
        journal = Journal(path, lambda: next(clock))
        for number, item in enumerate(items, 1):
            journal.put(item)
            if number % 100 == 0:
                journal.step()
        return journal

    return write


def table(lines):
    heading, *rows = csv.reader(lines)
    return heading, rows


def test_readings_as_csv_have_their_units_in_the_heading(path, keep):
    events = list(day(30))
    keep(events).close()
    heading, rows = table(readings_csv(path))
    assert heading == [
        "time (UTC)", "tank/level (m)", "inlet/total (l)", "inlet/flow (l/min)", "inlet/flow, sum (l)",
        "rides/running", "rides/seq (count)",
    ]  # fmt: skip
    assert len(rows) == len(events)
    assert rows[0] == ["2026-11-25 09:46:40.000", "0.6", "", "", "", "", ""]
    meter = next(event for event in events if event.node == "inlet")
    assert ["2026-11-25 09:46:40.310", "", *[repr(number) for number in (
        meter.records[0].value, meter.records[1].value, meter.records[1].total)], "", ""] in rows  # fmt: skip
    assert {row[5] for row in rows} == {"", "0", "1"}


def test_a_window_and_some_names_as_csv(path, keep):
    keep(day(30)).close()
    heading, rows = table(readings_csv(path, AT + 10, AT + 11, ["rides/running", "tank/level"]))
    assert heading == ["time (UTC)", "tank/level (m)", "rides/running"]
    assert len(rows) == 10 + 1 - (10 % 2)
    assert rows[0][0] == "2026-11-25 09:46:50.000"


def test_late_readings_get_a_line_each(path, keep):
    late = tuple(Record("tank/level", "m", number / 10, stamp=number - 2.0) for number in range(3))
    keep([level(AT), Pack(AT + 10, "mqtt 1", "tank", late)]).close()
    _, rows = table(readings_csv(path))
    assert [(row[0][-6:], row[1]) for row in rows] == [
        ("40.000", "0.612"), ("48.000", "0.0"), ("49.000", "0.1"), ("50.000", "0.2")
    ]  # fmt: skip


def test_times_are_wall_times_once_these_are_known(path, keep):
    keep([level(100.0), WallStep(101.0, AT + 101.0)]).close()
    assert table(readings_csv(path))[1][0][0] == "2026-11-25 09:48:20.000"


def test_forecasts_and_alarms_as_csv(path, keep):
    quiet = alarm(AT + 20)._replace(told="=1+1", by="Ana, Luis")
    keep([level(AT), forecast(AT + 10), forecast(AT + 20)._replace(dry_s=None), alarm(AT + 15), quiet]).close()
    heading, rows = table(forecasts_csv(path))
    assert heading[:3] == ["time (UTC)", "volume (l)", "its standard deviation (l)"]
    assert rows[0][1:] == [
        "604.0", "3.2", "26.5", "-12.25", "38.75", "700.5", "900.0", "", "1100.0", "", "good", "uncertain",
    ]  # fmt: skip
    assert rows[1][6:9] == ["", "", ""]
    heading, rows = table(alarms_csv(path))
    assert heading == ["time (UTC)", "alarm", "priority", "state", "concerns", "by", "told"]
    assert rows[0] == [
        "2026-11-25 09:46:55.000", "water-low", "high", "unacknowledged", "", "", "The water is low: 190 l.",
    ]  # fmt: skip
    assert rows[1][5:] == ["Ana, Luis", "'=1+1"]


def test_the_recorded_feed_reads_back_to_the_same_events(path, keep):
    shelved, garble = Act(AT + 30, "shelve", "Ana", "leak", {"minutes": 30}), Reject(AT + 31, "mqtt 1", "crc", "", "x")
    events = [*day(20), shelved, garble]
    keep(events).close()
    assert [read_line(line, "none") for line in recorded(path)] == events


def test_a_back_up_while_it_is_written_is_whole_and_of_one_file(path, keep, tmp_path):
    events = list(day(30))
    journal = keep(events)
    journal.step()
    backup(path, tmp_path / "copy.db")
    journal.put(level(AT + 100))
    journal.close()
    assert list(rebuild(path)) == [*events, level(AT + 100)]
    alone = tmp_path / "alone"
    alone.mkdir()
    shutil.copy(tmp_path / "copy.db", alone)
    assert list(rebuild(alone / "copy.db")) == events
    assert check(alone / "copy.db") == []
    assert list(tmp_path.glob("*.part")) == []


def test_a_back_up_never_overwrites(path, keep, tmp_path):
    keep([level(AT)]).close()
    (tmp_path / "copy.db").write_text("precious")
    with pytest.raises(JournalFault, match="there already"):
        backup(path, tmp_path / "copy.db")
    with pytest.raises(JournalFault, match=r"folder.db can't be written.*name another place"):
        backup(path, tmp_path / "no" / "folder.db")
    assert (tmp_path / "copy.db").read_text() == "precious"


def test_the_summary_says_what_is_in_it_how_big_and_how_much_a_day(path, keep):
    told = [forecast(AT + 10), alarm(AT + 11), Act(AT + 12, "acknowledge", "Ana", "water-low")]
    journal = keep(sorted([*day(1500), *told], key=lambda item: item.at))
    journal.step()
    text = summary(path)
    journal.close()
    packs = sum(isinstance(event, Pack) for event in rebuild(path))
    readings = sum(len(event.records) for event in rebuild(path) if isinstance(event, Pack))
    for part in (
        f"Journal {path}", "more in its log", "From      2026-11-25 09:46 UTC", "Up to     2026-11-25 10:11 UTC",
        "1 start of the daemon", f"{readings:,} of 5 signals in {packs:,} packs", "mean of 1 day on which any came",
        "bytes a reading", "A day ",
        "Forecasts 1", "Alarms    1 change, 1 touch by people", "Rejects   0",
    ):  # fmt: skip
        assert part in text
    assert summary(path).splitlines()[4:] == text.splitlines()[4:]


def test_the_summary_in_the_owners_time_zone(path, keep):
    keep([level(AT)]).close()
    assert "2026-11-25 03:46" in summary(path, timezone(timedelta(hours=-6)))


def test_the_summary_of_an_empty_journal(path, keep):
    keep([]).close()
    assert "It is empty." in summary(path)


def test_what_was_dropped_is_told_in_the_summary(path):
    journal = Journal(path, longest=5)
    for number in range(8):
        journal.put(level(AT + number))
    journal.close()
    assert "Missing   3 items from 2026-11-25 09:46 UTC on" in summary(path)


def test_damage_is_found_by_the_check(path, keep):
    keep(day(300)).close()
    assert check(path) == []
    db = sqlite3.connect(path)
    db.execute("update readings set data = x'00' where id = (select max(id) from readings)")
    db.commit()
    db.close()
    assert check(path) == ["1 block of readings can't be read."]
    with path.open("r+b") as file:
        file.seek(4096 * 5)
        file.write(b"\xff" * 4096)
    assert any("damaged" in said or "SQLite says" in said for said in check(path))


@pytest.mark.parametrize("ask", [summary, check, readings_csv, forecasts_csv, alarms_csv, recorded])
def test_what_is_no_journal_is_said(tmp_path, ask):
    with pytest.raises(JournalFault, match="There is no journal at"):
        list(ask(tmp_path / "none.db"))
    (tmp_path / "text.db").write_text("not a journal\n" * 100)
    with pytest.raises(JournalFault, match=r"text\.db is no journal"):
        list(ask(tmp_path / "text.db"))
