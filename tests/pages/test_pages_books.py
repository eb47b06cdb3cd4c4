"""The books over HTTP: a month, a job's sheet, the sites, CSV, and what is refused."""

import csv
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlite_utils import Database

from monitor.changes import AlarmChange, Forecast, JobDone, Tally
from monitor.journal.history import History
from monitor.journal.writer import Journal
from monitor.pages.app import page
from monitor.pages.books import books_routes
from monitor.readings import Passing
from monitor.rig.load import fairground, parse
from monitor.rig.zone import zone_of

AT = 1_795_600_800.0  # 2026-11-25 08:40 UTC, on a whole quarter of an hour
GAL = 3.785411784
JOB = {
    "site": "North field", "by": "Ann", "began": AT, "ended": AT + 1800.0, "watched_s": 1800.0, "in_l": 300.0,
    "used_l": 400.0, "pumps_l": {"Rides": 300.0, "Stalls": 100.0}, "chemical_l": {"Rides": 2.0}, "alarms": 1,
    "answers": 1, "note": "gate locked",
}  # fmt: skip


def day():
    for n in range(2):
        end = AT + 900.0 * (n + 1)
        figures = {"watched_s": 900.0, "in_l": 150.0, "used_l": 200.0, "pumps_l": {"Rides": 150.0, "Stalls": 50.0}}
        yield Tally(end, end - 900.0, {**figures, "chemical_l": {"Rides": 1.0}})
    for n in range(60):
        yield Forecast(AT + 30.0 * n, 500.0 - n, 3.0, 10.0, -3.0, 13.0, {}, {}, None, None, None, "good", "good")
    for at, state, by in ((600, "unacknowledged", ""), (630, "acknowledged", "Ann"), (900, "normal", "")):
        yield AlarmChange(AT + at, "water-low", "high", state, by=by)
    yield JobDone(AT + 1800.0, "North field", AT, JOB)


class Desk:
    def __init__(self, folder) -> None:
        file = folder / "holdwater.db"
        rig = parse(fairground())
        self.rig = rig.model_copy(update={"journal": rig.journal.model_copy(update={"file": file})})
        self.history = History(file)
        field = {"hours": {"9": [600.0, 18.0, 15.0, 20.0]}, "hose": "5/8"}
        self.core = SimpleNamespace(jobs=SimpleNamespace(sites={"Mill lane": {"hours": {}}, "North field": field}))


@pytest.fixture
def desk(tmp_path):
    desk = Desk(tmp_path)
    ticks = iter(range(0, 10_000, 5))
    journal = Journal(desk.rig.journal.file, lambda: float(next(ticks)))
    last = 0.0
    for change in sorted(day(), key=lambda each: each.at):
        if change.at > last:
            journal.put(Passing(last := change.at))
        journal.put(change)
    journal.put(Passing(AT + 1801.0))
    journal.close()
    return desk


@pytest.fixture
def books(desk):
    app = FastAPI()
    app.include_router(books_routes(page, desk))
    return TestClient(app)


def test_the_pages_are_there(books):
    for path in ("/books", "/sites"):
        assert "/static/books/main.js" in books.get(path).text


def test_the_latest_month_with_its_days_jobs_alarms_and_answers(books):
    said = books.get("/api/books").json()
    assert (said["month"], said["months"]) == ("2026-11", ["2026-11"])
    assert said["pumps"][:2] == ["Rides", "Stalls"]
    (one,) = said["days"]
    assert (one["day"], one["in_l"], one["used_l"], one["alarms"], one["answers"]) == ("2026-11-25", 300, 400, 1, 1)
    assert said["sum"]["chemical_l"] == {"Rides": 2.0}
    assert [job["site"] for job in said["jobs"]] == ["North field"]
    (alarm,) = said["alarms"]
    assert (alarm["alarm"], alarm["by"], alarm["acknowledged"] - alarm["begun"]) == ("water-low", "Ann", 30.0)


def test_a_month_in_which_nothing_was_watched_is_empty(books):
    said = books.get("/api/books", params={"month": "2025-02"}).json()
    assert said["days"] == said["jobs"] == said["alarms"] == []


def test_the_book_stands_when_retention_has_taken_what_it_takes(books, desk):
    before = books.get("/api/books").json()
    db = Database(desk.rig.journal.file)
    for table in ("forecast", "passing", "readings", "minute"):
        db[table].delete_where()
    db.close()
    after = books.get("/api/books").json()
    assert (after["days"], after["jobs"], after["alarms"]) == (before["days"], before["jobs"], before["alarms"])


def test_a_jobs_sheet_has_its_water_and_its_alarms(books):
    said = books.get("/api/books/job", params={"ended": AT + 1800.0}).json()
    assert said["job"] == JOB
    assert said["site"]["hose"] == "5/8"
    assert len(said["water"]) > 20
    assert said["water"][0][1] == pytest.approx(499.5, abs=1.0)
    assert [alarm["alarm"] for alarm in said["alarms"]] == ["water-low"]


def test_sites_the_latest_first_and_the_jobs_done_there(books):
    said = books.get("/api/sites").json()
    assert [site["site"] for site in said["sites"]] == ["North field", "Mill lane"]
    done = books.get("/api/sites/jobs", params={"site": "North field"}).json()
    assert [job["note"] for job in done] == ["gate locked"]
    assert books.get("/api/sites/jobs", params={"site": "Mill lane"}).json() == []


def test_tables_for_the_office_in_the_units_that_were_asked_for(books):
    asked = ({"month": "2026-11", "units": units} for units in ("us", "metric"))
    us, metric = (list(csv.DictReader(books.get("/api/books/days.csv", params=how).text.splitlines())) for how in asked)
    assert us[0]["water used (gal)"] == f"{400.0 / GAL:.1f}"
    assert metric[0]["water used (l)"] == metric[-1]["water used (l)"] == "400.0"
    answer = books.get("/api/books/jobs.csv", params={"units": "metric"})
    assert answer.headers["content-disposition"] == 'attachment; filename="jobs-all.csv"'
    (job,) = csv.DictReader(answer.text.splitlines())
    assert (job["Rides (l)"], job["chemical (l)"], job["site"]) == ("300.0", "2.00", "North field")


@pytest.mark.parametrize(
    ("path", "params", "status"),
    [
        ("/api/books", {"month": "never"}, 422), ("/api/books/days.csv", {"month": "13-2026"}, 422),
        ("/api/books", {"month": "9999-12"}, 422), ("/api/books", {"month": "0001-01"}, 422),
        ("/api/books/job", {"ended": 5.0}, 404),
    ],
)  # fmt: skip
def test_what_is_not_there_is_said(books, path, params, status):
    answer = books.get(path, params=params)
    assert answer.status_code == status
    assert answer.json()["do"]


def test_without_a_journal_it_says_so(tmp_path):
    app = FastAPI()
    app.include_router(books_routes(page, Desk(tmp_path)))
    assert TestClient(app).get("/api/books").status_code == 503


def test_the_rigs_clock_is_the_one_named_else_the_computers_own(tmp_path):
    assert zone_of("America/Chicago") == ZoneInfo("America/Chicago")
    assert zone_of(None, tmp_path / "nothing") == ZoneInfo("UTC")
    (tmp_path / "broken").write_bytes(b"no zone")
    assert zone_of(None, tmp_path / "broken") == ZoneInfo("UTC")
