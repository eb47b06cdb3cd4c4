"""Killed at any moment, or without power at any moment: what was acknowledged is there, and the file is whole."""

import os
import random
import shutil
import signal
import sqlite3
from itertools import islice

import pytest
from acknowledging_writer import events, write
from journal_events import AT, level
from power_cuts import cuts, record

from monitor.journal.rebuild import rebuild
from monitor.journal.writer import Journal

COMMITS = 120


def acknowledged_before_death(path, chance):
    """Lets a child write until it is killed; how many events it said were stored."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.close(reading)
        write(path, 10_000, lambda stored: os.write(writing, stored.to_bytes(8, "little")))
        os._exit(1)
    os.close(writing)
    said = b""
    for _ in range(chance.randrange(1, 40)):
        said = os.read(reading, 8)
    for _ in range(chance.randrange(100_000)):  # somewhere within the next commits
        pass
    os.kill(child, signal.SIGKILL)
    while more := os.read(reading, 8):
        said = more
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    os.close(reading)
    return int.from_bytes(said, "little")


@pytest.mark.parametrize("seed", range(12))
def test_killed_at_any_moment_nothing_acknowledged_is_lost(tmp_path, seed):
    path = tmp_path / "journal.db"
    acknowledged = acknowledged_before_death(path, random.Random(seed))
    back = list(rebuild(path))
    assert len(back) >= acknowledged > 0
    assert back == list(islice(events(), len(back)))
    db = sqlite3.connect(path)
    assert db.execute("pragma integrity_check").fetchall() == [("ok",)]
    db.close()
    journal = Journal(path)
    journal.put(level(AT + 1e6))
    journal.close()
    assert list(rebuild(path)) == [*back, level(AT + 1e6)]


@pytest.fixture(scope="module")
def strace():
    assert shutil.which("strace"), "The power cuts are recorded with strace; install it: apt-get install strace."


def test_without_power_at_any_moment_nothing_acknowledged_is_lost(tmp_path, strace):
    outcomes = list(cuts(record(tmp_path, COMMITS), 40, random.Random(1), tmp_path))
    assert len(outcomes) == 40
    assert [each for each in outcomes if each.found < each.acknowledged] == []
    assert [each for each in outcomes if not each.sound] == []
    assert [each for each in outcomes if not each.goes_on] == []
    assert len({each.acknowledged for each in outcomes}) > 20


def test_without_power_while_the_file_is_made_a_new_one_is_made(tmp_path, strace):
    deeds = record(tmp_path, 1)
    outcomes = list(cuts(deeds, 40, random.Random(2), tmp_path))
    assert {each.acknowledged for each in outcomes} == {0}
    assert [each for each in outcomes if not (each.sound and each.goes_on)] == []


def test_the_emulated_cuts_bite(tmp_path, strace):
    """The control: a writer that never flushes loses events, or its file, in most of them."""
    outcomes = list(cuts(record(tmp_path, COMMITS, "off"), 20, random.Random(1), tmp_path))
    assert sum(each.found < each.acknowledged or not each.sound for each in outcomes) > 10
