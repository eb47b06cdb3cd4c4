"""The computer as files tell of it, in a folder that stands for the machine's root."""

import threading
from pathlib import Path

import pytest

from monitor.computer import FRESH_S, THROTTLED, Computer, Look
from monitor.worker import Thread

UNKNOWN = Look(None, None, None, None, None, None, None)


def write(root: Path, path: str, text: str) -> None:
    (root / path).parent.mkdir(parents=True, exist_ok=True)
    (root / path).write_text(text)


def look(root: Path) -> Look:
    return Computer(root, root=root).now()


def test_what_a_machine_does_not_tell_is_not_known(tmp_path: Path):
    assert look(tmp_path)._replace(disk_free_mb=None) == UNKNOWN
    assert Computer(tmp_path / "gone", root=tmp_path).now() == UNKNOWN


def test_what_it_tells_is_read(tmp_path: Path):
    write(tmp_path, "sys/class/thermal/thermal_zone0/temp", "48312\n")
    write(tmp_path, "proc/loadavg", "0.42 0.30 0.20 1/123 4567\n")
    write(tmp_path, "proc/uptime", "3600.50 7000.00\n")
    write(tmp_path, "run/systemd/timesync/synchronized", "")
    found = look(tmp_path)
    assert (found.cpu_cel, found.load, found.uptime_s, found.clock_set) == (48.312, 0.42, 3600.5, True)
    assert found.disk_free_mb is not None
    assert found.disk_free_mb > 0


@pytest.mark.parametrize(
    ("bits", "now", "before"), [("0", False, False), ("50000", False, True), ("50005", True, True)]
)
def test_under_voltage_now_and_before(tmp_path: Path, bits: str, now: bool, before: bool):
    write(tmp_path, THROTTLED, bits + "\n")
    assert (look(tmp_path).under_voltage, look(tmp_path).under_voltage_before) == (now, before)


def test_under_voltage_by_its_alarm(tmp_path: Path):
    write(tmp_path, "sys/class/hwmon/hwmon2/in0_lcrit_alarm", "1\n")
    assert look(tmp_path).under_voltage is True


def test_rubbish_is_not_known(tmp_path: Path):
    for path in ("sys/class/thermal/thermal_zone0/temp", "proc/loadavg", THROTTLED):
        write(tmp_path, path, "what?\n")
    assert look(tmp_path)._replace(disk_free_mb=None) == UNKNOWN


def test_a_clock_that_no_network_has_set(tmp_path: Path):
    (tmp_path / "run/systemd/timesync").mkdir(parents=True)
    assert look(tmp_path).clock_set is False


def test_it_looks_again_and_again_beside_who_asks(tmp_path: Path):
    steps = []

    def hire(_name, work):
        steps.append(work())
        return Thread("never started", work)

    computer = Computer(tmp_path, hire, tmp_path)
    assert computer.look() == UNKNOWN
    assert next(steps[0]) == FRESH_S
    assert computer.look().disk_free_mb is not None
    write(tmp_path, "proc/loadavg", "1.5 1 1\n")
    assert computer.look().load is None
    next(steps[0])
    assert computer.look().load == 1.5


def test_a_disk_that_does_not_answer_holds_up_nobody(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    asked, answers = threading.Event(), threading.Event()

    def hangs(_folder: Path):
        asked.set()
        answers.wait(20.0)
        raise OSError

    monkeypatch.setattr("shutil.disk_usage", hangs)
    computer = Computer(tmp_path, root=tmp_path)
    computer.start()
    assert asked.wait(20.0)
    assert computer.look() == UNKNOWN
    answers.set()
    computer.close()


@pytest.mark.parametrize(
    ("wrong", "word"),
    [({"under_voltage": True}, "voltage"), ({"cpu_cel": 81.0}, "81"), ({"disk_free_mb": 20.0}, "20 MB")],
)
def test_what_is_wrong_is_said_with_what_to_do(wrong: dict, word: str):
    fault = UNKNOWN._replace(**wrong).fault()
    assert fault is not None
    assert word in fault[0]
    assert fault[1]
    assert UNKNOWN.fault() is None
