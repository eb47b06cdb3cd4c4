"""What can happen to the file under a running daemon: each is survived, said, and tried again."""

import contextlib
import itertools
import json
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from journal_events import AT, alarm
from journal_steps import WALL, new, put, stored

from monitor.journal import store
from monitor.journal.faults import JournalInUse
from monitor.journal.stored import opened
from monitor.journal.writer import Journal

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
