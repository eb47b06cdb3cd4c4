"""Words to systemd: sd_notify(3) and sd_watchdog_enabled(3)."""

import os
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.notices.systemd import Systemd


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(tmp_path / "notify"))
        manager.setblocking(False)
        yield manager


def heard(manager: socket.socket) -> list[bytes]:
    said = []
    while True:
        try:
            said.append(manager.recv(100))
        except BlockingIOError:
            return said


def test_the_watchdog_is_fed_four_times_in_its_time(manager: socket.socket) -> None:
    systemd = Systemd({"NOTIFY_SOCKET": manager.getsockname(), "WATCHDOG_USEC": "8000000"})
    for now_s in (0.0, 0.2, 1.9, 2.1, 2.2, 4.2):
        systemd.alive(now_s)
    assert heard(manager) == [b"WATCHDOG=1"] * 3


@pytest.mark.parametrize("watchdog", [{}, {"WATCHDOG_USEC": "soon"}, {"WATCHDOG_USEC": "8", "WATCHDOG_PID": "1"}])
def test_no_watchdog_no_word(manager: socket.socket, watchdog: dict[str, str]) -> None:
    systemd = Systemd({"NOTIFY_SOCKET": manager.getsockname(), **watchdog})
    systemd.alive(100.0)
    assert heard(manager) == []
    systemd.stopping()
    assert heard(manager) == [b"STOPPING=1"]


def test_a_watchdog_on_this_process(manager: socket.socket) -> None:
    watchdog = {"WATCHDOG_USEC": "8000000", "WATCHDOG_PID": str(os.getpid())}
    Systemd({"NOTIFY_SOCKET": manager.getsockname(), **watchdog}).alive(0.0)
    assert heard(manager) == [b"WATCHDOG=1"]


def test_a_socket_in_the_abstract_namespace() -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind("\0holdwater-test-" + str(os.getpid()))
        manager.setblocking(False)
        Systemd({"NOTIFY_SOCKET": f"@holdwater-test-{os.getpid()}"}).ready("Test rig")
        assert heard(manager) == [b"READY=1\nSTATUS=Watches Test rig"]


def test_nobody_there_does_no_harm(tmp_path: Path) -> None:
    for environment in ({}, {"NOTIFY_SOCKET": str(tmp_path / "nobody")}):
        Systemd({**environment, "WATCHDOG_USEC": "1"}).alive(0.0)
