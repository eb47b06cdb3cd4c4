"""A daemon that can't decide any more must not look alive: it ends, at once and with an error."""

import asyncio
from pathlib import Path

import pytest
from daemons import write_rig

from monitor.daemon import Daemon, Undecided
from monitor.pages.serving import PortTaken, listen, url_of
from monitor.rig.load import load


def test_a_fault_that_lets_nothing_be_decided_ends_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    daemon = Daemon(load(write_rig(tmp_path / "rig.toml", 'serial = "/dev/no-such-port"')))
    sock = listen("127.0.0.1", 0)

    def breaks(_: object) -> None:
        raise ArithmeticError("no such number")

    monkeypatch.setattr("monitor.daemon.GIVES_UP_S", 0.0)

    async def lived() -> None:
        await asyncio.wait_for(daemon.run(sock, lambda: monkeypatch.setattr(daemon.core, "advance", breaks)), 20.0)

    daemon.inbox.reject("serial 1", "not-json", "so that there is something to take")
    with pytest.raises(Undecided):
        asyncio.run(lived())
    assert daemon.journal.status().waiting == 0, "what had come is kept"


def test_a_port_that_is_held_is_held_from_the_first_moment() -> None:
    with listen("127.0.0.1", 0) as sock:
        port = sock.getsockname()[1]
        with pytest.raises(PortTaken, match=f"127.0.0.1:{port}: Address already in use"):
            listen("127.0.0.1", port)


def test_an_address_is_written_as_a_browser_takes_it() -> None:
    with listen("127.0.0.1", 0) as sock:
        assert url_of(sock) == f"http://127.0.0.1:{sock.getsockname()[1]}"
    try:
        six = listen("::1", 0)
    except PortTaken:  # a machine without IPv6
        return
    with six:
        assert url_of(six) == f"http://[::1]:{six.getsockname()[1]}"
