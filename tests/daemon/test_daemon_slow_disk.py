"""A disk that hangs holds up the record, and no warning: what is decided is on the page while the write still waits."""

import asyncio
import sqlite3
import threading
from pathlib import Path

import httpx
import pytest
from daemons import write_rig
from waiting import until

from monitor.daemon import Daemon
from monitor.machine import Machine
from monitor.pages.serving import listen, url_of
from monitor.readings import Pack, Record
from monitor.rig.load import load

LOW_M = 0.15  # under the heel of the rig file, by its own table


class Hung:
    """A disk whose writes wait for as long as they are held."""

    def __init__(self) -> None:
        self.let_go, self.waiting = threading.Event(), threading.Event()
        self.held = False

    def connect(self, path: Path) -> sqlite3.Connection:
        disk = self

        class Slow(sqlite3.Connection):
            def executemany(self, *arguments):  # type: ignore[no-untyped-def]
                if disk.held:
                    disk.waiting.set()
                    assert disk.let_go.wait(60.0)
                return super().executemany(*arguments)

        return sqlite3.connect(path, timeout=2.0, factory=Slow)


@pytest.fixture
def disk():
    hung = Hung()
    yield hung
    hung.let_go.set()


def test_the_page_warns_while_the_writer_hangs(tmp_path: Path, disk: Hung) -> None:
    daemon = Daemon(
        load(write_rig(tmp_path / "rig.toml", 'serial = "/dev/no-such-port"')), machine=Machine(database=disk.connect)
    )
    sock = listen("127.0.0.1", 0)
    url = url_of(sock)

    def alarms() -> dict[str, str]:
        return {each["alarm"]: each["state"] for each in httpx.get(f"{url}/api/state").json()["alarms"]}

    def says(height_m: float, k: int) -> None:
        pump = (Record("rides/running", "bool", True), Record("rides/drawing", "bool", True))
        level = (Record("tank/level", "m", height_m + 0.001 * (k % 2)),)
        for node, records in (("tank", level), ("rides", pump)):
            daemon.inbox.put(Pack(daemon.clock.now(), "serial 1", node, records, False))

    def lived() -> None:
        """The level falls low just as the disk begins to hang."""
        for k in range(10):
            says(0.8, k)
        until(lambda: daemon.core.balance.belief is not None, what="a level is known")
        disk.held = True
        says(0.8, 0)
        until(disk.waiting.is_set, 20.0, "the writer hangs")
        k = iter(range(1_000_000))
        until(lambda: (says(LOW_M, next(k)), "dry" in alarms() and "dry-soon" in alarms())[1], 60.0, "warned")
        assert not disk.let_go.is_set(), "nothing has been written meanwhile"
        assert httpx.get(f"{url}/healthz").json()["parts"]["deciding"]["ok"]
        disk.let_go.set()
        until(lambda: daemon.journal.status().waiting == 0, 30.0, "written at last")

    async def run() -> None:
        loop = asyncio.get_running_loop()
        running = asyncio.create_task(daemon.run(sock))
        try:
            await loop.run_in_executor(None, lived)
        finally:
            disk.let_go.set()
            daemon.stop()
            await running

    asyncio.run(run())
    with sqlite3.connect(tmp_path / "holdwater.db") as kept:
        assert kept.execute("select count(*) from alarm_change where alarm = 'dry'").fetchone()[0] > 0
