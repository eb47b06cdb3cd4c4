"""A row for each finished job, that stays when what it was counted from has gone."""

import csv
from datetime import UTC

from journal_events import AT, forecast, level
from sqlite_utils import Database
from test_journal_book import kept

from monitor.changes import JobDone
from monitor.journal.jobs import jobs, jobs_csv
from monitor.journal.retention import RAW_TABLES


def done(at, site):
    return JobDone(at, site, at - 3600.0, {"site": site, "used_l": 400.5, "pumps_l": {"Rides": 400.5}})


def test_jobs_come_back_in_the_order_they_ended(tmp_path):
    items = [level(AT), done(AT + 10, "North field"), level(AT + 20), forecast(AT + 20), done(AT + 30, "Año")]
    path = kept(tmp_path / "journal.db", items)
    assert [each["site"] for each in jobs(path)] == ["North field", "Año"]
    assert jobs(path)[0]["pumps_l"] == {"Rides": 400.5}
    assert "job" not in RAW_TABLES


def test_only_those_that_ended_in_the_window(tmp_path):
    items = [level(AT), *(JobDone(AT + n, "North field", AT, {"site": "x", "ended": AT + n}) for n in (10, 20, 30))]
    path = kept(tmp_path / "journal.db", items)
    assert [job["ended"] - AT for job in jobs(path, AT + 15, AT + 30)] == [20]


def test_a_journal_of_an_older_version_has_no_jobs(tmp_path):
    path = kept(tmp_path / "journal.db", [level(AT)])
    Database(path)["job"].drop()
    assert jobs(path) == []


def test_jobs_as_csv_in_the_owners_units(tmp_path):
    figures = {
        "site": "North field", "began": AT, "ended": AT + 7200.0, "watched_s": 7190.0, "in_l": 378.5411784,
        "used_l": 757.0823568, "pumps_l": {"Rides": 757.0823568}, "chemical_l": {"Rides": 3.785411784},
        "alarms": 2, "answers": 1,
        "note": "=gate, locked",
    }  # fmt: skip
    items = [level(AT), JobDone(AT + 7200.0, "North field", AT, figures)]
    found = jobs(kept(tmp_path / "journal.db", items))
    heading, job = csv.reader(jobs_csv(found, ["Rides", "Stalls"], UTC, "us"))
    assert heading[3:7] == ["water in (gal)", "water used (gal)", "Rides (gal)", "Stalls (gal)"]
    assert job[2:] == ["North field", "100.0", "200.0", "200.0", "0.0", "1.00", "2.00", "2", "1", "'=gate, locked"]
