"""The file of paired devices: codes, cookies, revocation, two writers, and nobody else who reads it."""

import stat
from pathlib import Path

import pytest

from monitor.pages.devices import CODE_S, MOST_CODES, MOST_DEVICES, Devices, DevicesUnread
from monitor.pages.rates import MOST_KNOWN, Rates


class Clock:
    def __init__(self) -> None:
        self.now = 1_795_600_000.0

    def __call__(self) -> float:
        return self.now


def test_nobody_else_can_read_it_and_it_holds_no_code(tmp_path: Path):
    devices = Devices(tmp_path / "holdwater.db")
    code = devices.offer("owner")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["holdwater.devices.json", "holdwater.devices.lock"]
    for file in tmp_path.iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600, file
    assert code not in devices.path.read_text("utf-8")


def test_a_code_ends_after_five_minutes_whatever_becomes_of_the_clock(tmp_path: Path):
    clock = Clock()
    devices = Devices(tmp_path / "holdwater.db", clock)
    late, set_back, in_time = (devices.offer("crew") for _ in range(3))
    clock.now += CODE_S
    assert devices.pair(late, "x") is None
    clock.now -= 2 * CODE_S
    assert devices.pair(set_back, "x") is None
    clock.now += 2 * CODE_S - 0.1
    assert devices.pair(in_time, "x") is not None
    assert devices.pair(f" {devices.offer('crew').lower()[:4]}-", "x") is None


def test_a_code_is_taken_as_a_person_types_it(tmp_path: Path):
    devices = Devices(tmp_path / "holdwater.db")
    code = devices.offer("crew").lower()
    paired = devices.pair(f" {code[:4]}-{code[4:]} ", "  ")
    assert paired is not None
    assert (paired[0].role, paired[0].name) == ("crew", "unnamed")


def test_what_the_command_writes_the_daemon_sees(tmp_path: Path):
    daemon, command = (Devices(tmp_path / "holdwater.db") for _ in range(2))
    device, cookie = daemon.pair(command.offer("crew"), "Tablet")
    assert command.of(cookie) == daemon.of(cookie) == device
    assert command.revoke(device.id) == [device]
    assert daemon.of(cookie) is None
    assert not daemon.is_paired(device)
    assert command.revoke("Tablet") == []


def test_codes_and_devices_are_bounded(tmp_path: Path):
    devices = Devices(tmp_path / "holdwater.db")
    codes = [devices.offer("crew") for _ in range(MOST_CODES + 2)]
    assert devices.pair(codes[0], "x") is None
    assert devices.pair(codes[-1], "x") is not None
    for n in range(MOST_DEVICES):
        devices.pair(devices.offer("crew"), f"Device {n}")
    assert len(devices.all()) == MOST_DEVICES


def test_a_file_of_another_rig_signs_nothing_here(tmp_path: Path):
    (tmp_path / "other").mkdir()
    here, other = Devices(tmp_path / "holdwater.db"), Devices(tmp_path / "other" / "holdwater.db")
    here.offer("crew")
    _, cookie = other.pair(other.offer("owner"), "x")
    assert here.of(cookie) is None


@pytest.mark.parametrize("content", ["", "[]", "{}", '{"devices": [{"id": 1}], "codes": [], "secret": "x"}', "\x00"])
def test_a_damaged_file_lets_nobody_in_and_says_what_to_do(tmp_path: Path, content: str):
    devices = Devices(tmp_path / "holdwater.db")
    _, cookie = devices.pair(devices.offer("owner"), "x")
    devices.path.unlink()
    devices.path.write_text(content, "utf-8")
    with pytest.raises(DevicesUnread, match="pair every device again"):
        devices.of(cookie)


def test_a_rate_is_a_burst_and_then_so_many_a_second():
    clock = Clock()
    rates = Rates(2, 0.5, clock)
    assert [rates.take("a") for _ in range(3)] == [True, True, False]
    clock.now += 2.0
    assert [rates.take("a"), rates.take("a"), rates.take("b")] == [True, False, True]
    for n in range(2 * MOST_KNOWN):
        rates.take(str(n))
    assert len(rates._left) == MOST_KNOWN
