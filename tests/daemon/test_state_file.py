"""The state file: whole or not at all, and never behind by the change of an alarm."""

import json
import threading
from pathlib import Path
from typing import Any

import pytest
from waiting import until

from monitor import state_file
from monitor.core.core import SAVED_AS
from monitor.state_file import EVERY_S, FORWARD, NewerState, Saver, StateFile


class SlowDisk(StateFile):
    """Writes when it is let."""

    def __init__(self, journal: Path) -> None:
        super().__init__(journal)
        self.let, self.began = threading.Semaphore(0), threading.Semaphore(0)
        self.written: list[dict[str, Any]] = []

    def write(self, saved: dict[str, Any]) -> None:
        self.began.release()
        self.let.acquire(timeout=20.0)
        self.written.append(saved)
        super().write(saved)


def test_what_is_written_is_read(tmp_path: Path) -> None:
    file = StateFile(tmp_path / "holdwater.db")
    assert file.read() is None
    file.write({"version": 1})
    assert file.read() == {"version": 1}
    assert [path.name for path in tmp_path.iterdir()] == ["holdwater.state.json"]


def test_a_failed_write_leaves_the_old_one_and_is_said_once(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    file = StateFile(tmp_path / "holdwater.db")
    file.write({"at": 1})
    (tmp_path / "holdwater.state.new").mkdir()
    file.write({"at": 2})
    file.write({"at": 3})
    assert file.read() == {"at": 1}
    assert len([said for said in caplog.messages if "can't be kept" in said]) == 1
    (tmp_path / "holdwater.state.new").rmdir()
    file.write({"at": 4})
    assert file.read() == {"at": 4}


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> None:
    """The program of tomorrow."""
    monkeypatch.setattr(state_file, "SAVED_AS", SAVED_AS + 1)
    monkeypatch.setitem(FORWARD, SAVED_AS, lambda saved: {**saved, "version": SAVED_AS + 1, "more": True})


def test_what_a_newer_program_wrote_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    file = StateFile(tmp_path / "holdwater.db")
    file.write({"version": SAVED_AS + 1})
    with pytest.raises(NewerState, match=r"newer version.*before-2\.json"):
        file.read()
    assert json.loads(file.path.read_text("utf-8")) == {"version": SAVED_AS + 1}


def test_what_an_older_program_wrote_is_brought_forward_and_kept_as_it_was(tmp_path: Path, later: None) -> None:
    file = StateFile(tmp_path / "holdwater.db")
    file.write({"version": SAVED_AS, "at": 7})
    assert file.read() == {"version": SAVED_AS + 1, "at": 7, "more": True}
    assert json.loads((tmp_path / "holdwater.state.before-2.json").read_text("utf-8")) == {"version": SAVED_AS, "at": 7}


def test_a_change_during_a_slow_write_is_written_after_it(tmp_path: Path) -> None:
    disk = SlowDisk(tmp_path / "holdwater.db")
    saver = Saver(disk, 0.0)
    saver.tick(1.0, True, lambda: {"at": 1})
    disk.began.acquire(timeout=20.0)
    saver.tick(2.0, True, lambda: {"at": 2})
    saver.tick(3.0, False, lambda: {"at": 3})
    assert disk.written == []
    disk.let.release(3)
    until(saver.is_idle)
    saver.tick(4.0, False, lambda: {"at": 4})
    until(saver.is_idle)
    saver.close({"at": 5})
    assert [saved["at"] for saved in disk.written] == [1, 4, 5]
    assert json.loads(disk.path.read_text("utf-8")) == {"at": 5}


def test_without_a_change_it_is_written_now_and_then(tmp_path: Path) -> None:
    disk = SlowDisk(tmp_path / "holdwater.db")
    disk.let.release(10)
    saver = Saver(disk, 0.0)
    for second in range(int(2 * EVERY_S) + 3):
        saver.tick(float(second), False, lambda second=second: {"at": second})
        until(saver.is_idle)
    saver.close({"at": "end"})
    assert [saved["at"] for saved in disk.written] == [11, 22, "end"]
