"""A file that is damaged, or no journal of ours, under a running daemon: kept aside or left alone, and said."""

import contextlib
import sqlite3

import pytest
from journal_steps import new, put, stored

from monitor.journal.faults import JournalFault
from monitor.journal.keeper import MOST_ASIDE
from monitor.journal.rebuild import rebuild
from monitor.journal.schema import migrations

# -- damaged ----------------------------------------------------------------------------------------------------


def damaged(path, start, length=600):
    with path.open("r+b") as file:
        file.seek(start)
        file.write(bytes(range(256)) * (length // 256 + 1))


@pytest.mark.parametrize("start", [0, 90, 4096], ids=["head", "schema", "a page"])
def test_a_damaged_file_is_kept_aside_and_a_new_one_begun(path, start):
    journal = new(path)
    put(journal, 0)
    journal.close()
    damaged(path, start)
    content = path.read_bytes()
    journal = new(path)
    status = put(journal, 1)
    journal.close()
    assert status.ok
    assert "journal.db.damaged-20261125-094640" in status.why
    assert status.do
    assert stored(path) == [1]
    assert (path.parent / "journal.db.damaged-20261125-094640").read_bytes() == content


def test_damage_met_while_it_runs_costs_nothing_that_is_waiting(path, journal):
    put(journal, 0)
    journal._keeper.let_go()
    damaged(path, 0)
    assert put(journal, 1, 2).ok
    assert stored(path) == [1, 2]


def test_two_damaged_files_of_one_second_do_not_overwrite_each_other(path, journal):
    for number in range(3):
        put(journal, number)
        journal._keeper.let_go()
        damaged(path, 0)
    put(journal, 9)
    assert len(list(path.parent.glob("journal.db.damaged-*"))) == 3
    assert stored(path) == [9]


def test_a_disk_that_damages_everything_is_not_filled_with_damaged_files(path, journal):
    for number in range(MOST_ASIDE + 2):
        put(journal, number)
        journal._keeper.let_go()
        damaged(path, 0)
    status = put(journal, 9)
    assert not status.ok
    assert "failing" in status.do
    assert len(list(path.parent.glob("journal.db.damaged-*"))) == MOST_ASIDE


def test_a_broken_block_takes_no_other_with_it(path, journal):
    put(journal, 0)
    put(journal, 1)
    put(journal, 2)
    db = journal._keeper._store.db
    db.execute("update readings set data = x'00ff00' where id = (select max(id) - 1000000 from readings)")
    assert stored(path) == [0, 2]
    journal._keeper.let_go()
    assert put(journal, 3).ok
    assert stored(path) == [0, 2, 3]


# -- not ours ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("content", [b'[rig]\nname = "Trailer"\n', "Wasser für die Anhänger\n".encode() * 400])
def test_somebodys_text_is_never_touched(path, journal, content):
    path.write_bytes(content)
    status = put(journal, 0)
    assert not status.ok
    assert "no journal" in status.why
    assert "Name another file" in status.do
    assert path.read_bytes() == content


def test_somebodys_database_is_never_touched(path, journal):
    db = sqlite3.connect(path)
    db.execute("create table songs(name)")
    db.close()
    content = path.read_bytes()
    status = put(journal, 0)
    assert not status.ok
    assert "no journal" in status.why
    assert path.read_bytes() == content
    with pytest.raises(JournalFault, match="no journal"):
        list(rebuild(path))


def test_a_newer_programs_journal_is_left_alone(path):
    journal = new(path)
    put(journal, 0)
    journal._keeper._store.db["_sqlite_migrations"].insert({"migration_set": migrations.name, "name": "later"})
    journal.close()
    content = path.read_bytes()
    journal = new(path)
    status = put(journal, 1)
    journal.close()
    assert not status.ok
    assert "newer version" in status.why
    assert path.read_bytes() == content


def test_a_journal_locked_by_another_program_is_said_and_survived(path, journal, monkeypatch):
    monkeypatch.setattr("monitor.journal.schema.BUSY_S", 0.0)
    put(journal, 0)
    with contextlib.closing(sqlite3.connect(path)) as other:
        other.execute("begin immediate")
        status = put(journal, 1)
        assert not status.ok
        assert "locked" in status.why
    assert put(journal, 2) == (True, "", "", 0, 0)
    assert stored(path) == [0, 1, 2]
