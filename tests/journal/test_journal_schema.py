"""Migrations go forward with what is stored, each with its record in one transaction."""

import itertools
import os
import sqlite3

import pytest
from journal_events import AT, day, level
from sqlite_utils import Database, Migrations

from monitor.journal import rollup, schema
from monitor.journal.history import History
from monitor.journal.rebuild import rebuild
from monitor.journal.schema import LONGEST_RUN_US, open_to_write, place, run_of, since_began_us
from monitor.journal.writer import Journal

STEPS = ["first_tables", "jobs", "tallies", "half_hours"]
SIGNALS = ("tank/level", "inlet/total", "rides/running")


@pytest.fixture
def later(monkeypatch):
    """The program of tomorrow: the same steps and one more."""
    steps = Migrations(schema.migrations.name)
    steps._migrations = list(schema.migrations._migrations)
    monkeypatch.setattr(schema, "migrations", steps)
    return steps


def write(path, events):
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock))
    for event in events:
        journal.put(event)
    journal.close()
    return journal.status()


def test_a_later_step_finds_all_that_was_stored(tmp_path, later):
    path = tmp_path / "journal.db"
    assert write(path, day(10)).ok

    @later()
    def weather(db: Database) -> None:
        db["weather"].create({"at_us": int, "said": str}, pk="at_us")

    assert write(path, [level(AT + 100)]) == (True, "", "", 0, 0)
    assert list(rebuild(path)) == [*day(10), level(AT + 100)]
    assert "weather" in Database(path).table_names()
    assert [step.name for step in later.applied(Database(path))] == [*STEPS, "weather"]


def test_what_was_stored_is_kept_as_it_was_for_the_version_that_wrote_it(tmp_path, later, monkeypatch):
    path, before = tmp_path / "journal.db", schema.migrations
    older = Migrations(before.name)
    older._migrations = list(before._migrations)
    assert write(path, day(10)).ok
    assert list(tmp_path.glob("*.before-*")) == []

    @later()
    def weather(db: Database) -> None:
        db["weather"].create({"at_us": int})

    assert write(path, [level(AT + 100)]).ok
    kept = tmp_path / f"journal.before-{len(STEPS) + 1}.db"
    monkeypatch.setattr(schema, "migrations", older)
    assert not write(path, [level(AT + 200)]).ok, "the older program refuses the newer file"
    kept.replace(path)
    for rest in ("-wal", "-shm"):
        path.with_name(path.name + rest).unlink(missing_ok=True)
    assert write(path, [level(AT + 200)]).ok
    assert list(rebuild(path)) == [*day(10), level(AT + 200)]


def test_the_half_hours_of_an_older_journal_are_made_of_its_minutes(tmp_path, monkeypatch):
    path, old = tmp_path / "journal.db", tmp_path / "old.db"
    newer, older = schema.migrations, Migrations(schema.migrations.name)
    older._migrations = [step for step in newer._migrations if step.name != "half_hours"]
    assert write(path, day(4000)).ok
    with monkeypatch.context() as before:
        before.setattr(schema, "migrations", older)
        before.setattr(rollup, "GRAINS", (rollup.MINUTE,))
        assert write(old, day(4000)).ok
    window = (AT // 1800 * 1800, AT // 1800 * 1800 + 9000)
    wanted = [History(path).series([name], *window, 5)[0] for name in SIGNALS]
    unmade = [History(old).series([name], *window, 5)[0] for name in SIGNALS]
    assert [line.source for line in unmade] == ["minute"] * 3, "an older journal is read as it is"
    assert write(old, []).ok
    made = [History(old).series([name], *window, 5)[0] for name in SIGNALS]
    assert [line.source for line in (*made, *wanted)] == ["half hour"] * 6
    for lines in (unmade, made):
        for line, want in zip(lines, wanted, strict=True):
            assert [(p.at, p.lo, p.hi, p.n) for p in line.points] == [(p.at, p.lo, p.hi, p.n) for p in want.points]
            assert [p.mean for p in line.points] == pytest.approx([p.mean for p in want.points])


def test_a_step_that_fails_changes_nothing_and_nothing_is_lost(tmp_path, later):
    path = tmp_path / "journal.db"
    assert write(path, day(10)).ok

    @later()
    def half(db: Database) -> None:
        db["half"].create({"at_us": int})
        db.execute("insert into nowhere values (1)")

    status = write(path, [level(AT + 100)])
    assert not status.ok
    assert "nowhere" in status.why
    assert status.waiting == 1
    assert "half" not in Database(path).table_names()
    assert list(rebuild(path)) == list(day(10))


def test_every_table_is_strict_and_time_comes_first(tmp_path):
    db = open_to_write(tmp_path / "journal.db")
    for (sql,) in db.execute("select sql from sqlite_master where type = 'table' and name not like '\\_%' escape '\\'"):
        assert "strict" in sql
    indexes = db.execute("select tbl_name from sqlite_master where type = 'index' and sql is not null").fetchall()
    assert indexes == [("_sqlite_migrations",)], "an index by sensor would multiply what is written to the card"
    db.close()


def test_opening_leaves_no_file_open(tmp_path):
    before = os.listdir("/proc/self/fd")
    open_to_write(tmp_path / "journal.db").close()
    assert len(os.listdir("/proc/self/fd")) == len(before)


@pytest.mark.parametrize("run", [1, 2, 131_071])
@pytest.mark.parametrize("after_us", [0, 1, LONGEST_RUN_US - 1])
def test_a_place_is_a_run_and_a_time(run, after_us):
    at_place = place(run, 1_795_600_000_000_000, 1_795_600_000_000_000 + after_us)
    assert (run_of(at_place), since_began_us(at_place)) == (run, after_us)
    assert at_place < 2**63


def test_a_run_longer_than_a_place_can_say_is_followed_by_another(tmp_path):
    path = tmp_path / "journal.db"
    far = level(AT + LONGEST_RUN_US / 1e6)
    assert write(path, [level(AT), far, level(far.at + 1)]).ok
    assert list(rebuild(path, run=1)) == [level(AT)]
    assert list(rebuild(path, run=2)) == [far, level(far.at + 1)]


def test_the_file_says_what_it_is(tmp_path):
    open_to_write(tmp_path / "journal.db").close()
    db = sqlite3.connect(tmp_path / "journal.db")
    assert db.execute("pragma application_id").fetchone() == (schema.APPLICATION_ID,)
    assert schema.APPLICATION_ID.to_bytes(4, "big") == b"Hold"
    db.close()
