"""What can happen to the file under a running daemon: each is survived, said, and tried again."""

import contextlib
import itertools
import json
import os
import resource
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from journal_events import AT, alarm, level

from monitor.journal import store
from monitor.journal.faults import JournalFault, JournalInUse
from monitor.journal.keeper import MOST_ASIDE
from monitor.journal.rebuild import rebuild
from monitor.journal.schema import migrations
from monitor.journal.stored import opened
from monitor.journal.writer import Journal

WALL = 1795600000.0


def new(path, **more):
    """A journal whose clock goes on five seconds at each look: every step writes."""
    clock = itertools.count(step=5)
    return Journal(path, lambda: next(clock), wall=lambda: WALL, **more)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "journal.db"


@pytest.fixture
def journal(path):
    made = new(path)
    yield made
    made.close()


def put(journal, *numbers):
    """Levels at so many seconds after the start; then one round of work."""
    for number in numbers:
        journal.put(level(AT + number))
    journal.step()
    return journal.status()


def stored(path):
    return [round(event.at - AT) for event in rebuild(path)]


# -- full -------------------------------------------------------------------------------------------------------


@pytest.fixture
def disk(monkeypatch):
    """A disk with room for so many pages of the journal; None = plenty."""
    room = {"pages": None}
    open_to_write = store.open_to_write

    def bounded(path, connect):
        db = open_to_write(path, connect)
        if room["pages"] is not None:
            db.execute(f"pragma max_page_count = {room['pages']}").fetchall()
        return db

    monkeypatch.setattr(store, "open_to_write", bounded)
    return room


def test_a_full_disk_is_said_and_survived_again_and_again(path, journal, disk):
    """SQLITE_FULL as SQLite itself raises it."""
    number = itertools.count()
    assert put(journal, next(number)).ok
    for _ in range(2):
        disk["pages"] = 1
        journal._keeper.let_go()
        while (status := put(journal, *itertools.islice(number, 2000))).ok:
            pass
        assert "full" in status.why
        assert status.do
        assert status.waiting >= 2000
        assert not put(journal, next(number)).ok
        disk["pages"] = None
        assert put(journal).ok
    assert journal.status()[3:] == (0, 0)
    assert stored(path) == list(range(next(number)))


CHILD_ON_A_SMALL_DISK = """
import itertools, json, resource, sys
from pathlib import Path
from monitor.journal.writer import Journal
from monitor.readings import Pack, Record

clock = itertools.count(step=5)
journal = Journal(Path(sys.argv[1]), lambda: next(clock))
at = itertools.count(1795600000)
said = []
def write(packs):
    for _ in range(packs):
        now = float(next(at))
        journal.put(Pack(now, "mqtt 1", "tank", (Record("tank/level", "m", now / 7),)))
    journal.step()
    said.append(journal.status()._asdict())
    return said[-1]["ok"]
write(1)
for _ in range(2):
    resource.setrlimit(resource.RLIMIT_FSIZE, (8_000, resource.RLIM_INFINITY))
    write(500)
    write(1)
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    write(1)
journal.close()
print(json.dumps(said + [next(at) - 1795600000]))
"""


def test_a_disk_that_takes_no_more_bytes_is_survived_again_and_again(path):
    """The kernel itself refuses to write: the same to SQLite as a disk that ends in the middle of a page."""
    *said, put_in = json.loads(run(CHILD_ON_A_SMALL_DISK, path))
    assert [status["ok"] for status in said] == [True, False, False, True, False, False, True]
    assert [status["waiting"] for status in said] == [0, 500, 501, 0, 500, 501, 0]
    assert all(status["why"] and status["do"] for status in said if not status["ok"])
    assert said[-1] == {"ok": True, "why": "", "do": "", "waiting": 0, "dropped": 0}
    assert stored(path) == list(range(put_in))


def run(code, *arguments):
    return subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)], check=True, capture_output=True, text=True
    ).stdout


# -- read-only --------------------------------------------------------------------------------------------------


@contextlib.contextmanager
def nobody():
    """Root may write anywhere: become somebody who may not."""
    if os.geteuid():
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def open_folder():
    """A folder anybody may enter."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o777)
        yield Path(folder)
        Path(folder).chmod(0o777)


def test_a_read_only_file_is_said_and_survived(open_folder):
    path = open_folder / "journal.db"
    with nobody():
        journal = new(path)
        assert put(journal, 0).ok
        journal.close()
        path.chmod(0o444)
        journal = new(path)
        status = put(journal, 1)
        assert not status.ok
        assert "can't be written" in status.why
        assert status.do
        assert status.waiting == 1
        path.chmod(0o644)
        assert put(journal, 2) == (True, "", "", 0, 0)
        journal.close()
    assert stored(path) == [0, 1, 2]


def test_a_read_only_folder_is_said_and_survived(open_folder):
    open_folder.chmod(0o755 if os.geteuid() == 0 else 0o555)
    path = open_folder / "journal.db"
    with nobody():
        journal = new(path)
        journal.start()
        journal.put(alarm(AT))
        journal.close()
        assert not journal.status().ok
        assert "can't be written" in journal.status().why
        assert str(open_folder) in journal.status().do


def test_a_journal_on_a_read_only_disk_can_still_be_read(open_folder):
    path = open_folder / "journal.db"
    journal = new(path)
    put(journal, 0, 1)
    journal.close()
    (open_folder / "journal.db.lock").unlink()
    open_folder.chmod(0o555)
    with nobody():
        assert stored(path) == [0, 1]


# -- removed, replaced ------------------------------------------------------------------------------------------


def test_a_file_removed_under_it_is_begun_anew_and_said(path, journal):
    put(journal, 0)
    for end in ("", "-wal", "-shm"):
        path.with_name(path.name + end).unlink()
    status = put(journal, 1, 2)
    assert status.ok
    assert "removed" in status.why
    assert stored(path) == [1, 2]


def test_a_log_removed_under_it_loses_nothing(path, journal):
    put(journal, 0)
    path.with_name(path.name + "-wal").unlink()
    assert "removed" in put(journal, 1).why
    assert stored(path) == [0, 1]


def test_a_folder_removed_under_it_is_said(tmp_path):
    folder = tmp_path / "card"
    folder.mkdir()
    journal = new(folder / "journal.db")
    put(journal, 0)
    folder.rename(tmp_path / "elsewhere")
    assert not put(journal, 1).ok
    assert journal.status().do
    (tmp_path / "elsewhere").rename(folder)
    assert put(journal, 2).ok
    journal.close()
    assert stored(folder / "journal.db") == [0, 1, 2]


def test_a_back_up_put_in_its_place_is_written_on(path, journal, tmp_path):
    old = new(tmp_path / "old.db")
    put(old, 5)
    old.close()
    put(journal, 8)
    (tmp_path / "old.db").replace(path)
    put(journal, 9)
    assert stored(path) == [5, 9]


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


# -- two daemons ------------------------------------------------------------------------------------------------


def test_a_second_daemon_refuses(path, journal):
    journal.start()
    second = new(path)
    with pytest.raises(JournalInUse, match=rf"another daemon \(process {os.getpid()}\).*Stop that one first"):
        second.start()
    journal.close()
    second.start()
    second.close()


HOLDER = """
import sys
from pathlib import Path
from monitor.journal.writer import Journal
Journal(Path(sys.argv[1])).start()
print("held", flush=True)
sys.stdin.read()
"""


def test_a_killed_daemon_leaves_no_lock(path, journal):
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    holder = subprocess.Popen([sys.executable, "-c", HOLDER, str(path)], text=True, **pipes)
    assert holder.stdout.readline() == "held\n"
    with pytest.raises(JournalInUse, match=f"process {holder.pid}"):
        journal.start()
    holder.kill()
    holder.communicate()
    journal.start()


def test_without_a_thread_a_second_writer_is_refused_too(path, journal):
    put(journal, 0)
    second = new(path)
    assert "another daemon" in put(second, 1).why
    journal.close()
    assert put(second, 2).ok
    second.close()
    assert stored(path) == [0, 1, 2]


# -- clocks -----------------------------------------------------------------------------------------------------


def test_a_wall_clock_that_steps_changes_nothing(path):
    wall = iter([WALL, WALL - 31_536_000, WALL + 31_536_000, WALL, WALL])
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock), wall=lambda: next(wall, WALL))
    for number in range(4):
        assert put(journal, number) == (True, "", "", 0, 0)
        journal._keeper.let_go()
    journal.close()
    assert stored(path) == [0, 1, 2, 3]


def test_a_day_lived_again_is_kept_beside_the_first(path):
    for _ in range(2):
        journal = new(path)
        put(journal, 0, 1, 2)
        journal.close()
    assert stored(path) == [0, 1, 2, 0, 1, 2]


# -- open files -------------------------------------------------------------------------------------------------


def test_failing_again_and_again_leaks_no_files(path, journal):
    path.mkdir()
    put(journal, 0)
    before = len(os.listdir("/proc/self/fd"))
    for number in range(1, 20):
        put(journal, number)
    assert len(os.listdir("/proc/self/fd")) == before


def test_no_room_for_one_more_open_file_is_survived(path, journal):
    put(journal, 0)
    journal._keeper.let_go()
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (0, hard))
    try:
        status = put(journal, 1)
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    assert not status.ok
    assert put(journal, 2).ok
    assert stored(path) == [0, 1, 2]


def test_what_the_file_holds_is_durable_by_its_settings(path, journal):
    put(journal, 0)
    with opened(path) as reader:
        assert reader.db.execute("pragma journal_mode").fetchone() == ("wal",)
    assert journal._keeper._store.db.execute("pragma synchronous").fetchone() == (2,)
