"""The daemon as a process: started, stopped, killed and started again on the same files."""

import asyncio
import contextlib
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

from monitor.changes import Change
from monitor.daemon import Daemon
from monitor.machine import Machine
from monitor.pages.guard import App
from monitor.readings import Event
from monitor.rig.load import load
from tests.simulation.cable import Cable
from tests.simulation.disk import Disk
from tests.simulation.loop import Hands, Killed, Loop
from tests.simulation.network import Broker, Client


class Clocks:
    """What the machine's clocks say; `drift` is what share of a second its quartz loses or gains in one."""

    def __init__(self, loop: Loop, unix_s: float, drift: float) -> None:
        self._loop, self._unix_s, self._drift = loop, unix_s, drift
        self.wall_off_s = 0.0

    def monotonic(self) -> float:
        return 1000.0 + self._loop.time() * (1.0 + self._drift)

    def wall(self) -> float:
        return self._unix_s + self.wall_off_s + self._loop.time() * (1.0 + self._drift)


class Process:
    """One daemon at a time. `daemon` is None while none runs."""

    def __init__(self, rig_file: Path, loop: Loop, clocks: Clocks, broker: Broker, cable: Cable, disk: Disk,
                 rng: Random, note: Callable[[Any], None]) -> None:
        self.rig_file, self.loop, self.clocks = rig_file, loop, clocks
        self.broker, self.cable, self.disk, self.rng = broker, cable, disk, rng
        self.note = note
        self.daemon: Daemon | None = None
        self.app: App | None = None
        self.started_s = 0.0
        self.began = 0.0, 0.0
        """The daemon's own time at its start, and the monotonic clock's."""
        self.lives = 0
        self.killed_by_disk: Callable[[], None] = lambda: None
        self.given: list[list[Event | Change]] = []
        """What was put into the journal, of each life."""
        self.acknowledged: list[int] = []
        """How much of that the journal said it had, of each life."""

    def start(self) -> None:
        self._hands = Hands(self.loop, self.rng, self._die_writing)
        self._clients: list[Client] = []
        machine = Machine(
            self.clocks.monotonic, self.clocks.wall, self._hands.hire, self._client, self.cable.open,  # type: ignore[arg-type]
            self.disk.connect, self.disk.sync,
        )  # fmt: skip
        self.daemon = daemon = Daemon(load(self.rig_file), self.rig_file, machine)
        self.started_s = self.loop.time()
        self.began = daemon.clock.now(), self.clocks.monotonic()
        self.lives += 1
        self.given.append([])
        self.acknowledged.append(0)
        self._watch_journal(daemon)
        self.task = self.loop.create_task(daemon.live_on(self._serve))

    def ended_by_itself(self) -> BaseException | None:
        """What ended a daemon that nobody stopped or killed."""
        if self.daemon is None or self._hands.dead or not self.task.done():
            return None
        return self.task.exception() or RuntimeError("it returned")

    def reckon(self) -> None:
        """How much of what was put in the journal has by now."""
        if self.daemon is not None and not self._hands.dead:
            status = self.daemon.journal.status()
            self.acknowledged[-1] = len(self.given[-1]) - status.waiting

    async def stop(self) -> None:
        """SIGTERM."""
        daemon, self.daemon, self.app = self.daemon, None, None
        if daemon is None:
            return
        daemon.stop()
        with contextlib.suppress(Killed):
            await self.task
        if self._hands.dead:
            self._leave(daemon)
        elif daemon.journal.status().waiting == 0:
            self.acknowledged[-1] = len(self.given[-1])

    async def kill(self) -> None:
        """SIGKILL: nothing it does from now on is seen by anybody."""
        if self.daemon is None:
            return
        if not self._hands.dead:
            self.reckon()
            self.disk.keep()
        self._hands.dead = True
        daemon, self.daemon, self.app = self.daemon, None, None
        self.task.cancel()
        await asyncio.gather(self.task, return_exceptions=True)
        self._leave(daemon)

    def _leave(self, daemon: Daemon) -> None:
        """What the kernel does when a process has been killed, be it while it ended by itself."""
        for client in self._clients:
            self.broker.vanish(client)
        daemon.journal._keeper.release()
        self.disk.put_back()

    def _die_writing(self) -> None:
        """Killed in the middle of a write. What the journal has said before, it has."""
        self._hands.dead = True
        self.killed_by_disk()

    def _client(self, broker: Any) -> Client:
        client = Client(self.broker)
        self._clients.append(client)
        return client

    async def _serve(self, app: App, stop: asyncio.Event) -> None:
        self.app = app
        await stop.wait()

    def _watch_journal(self, daemon: Daemon) -> None:
        hands, given, put = self._hands, self.given[-1], daemon.journal.put

        def noted(*items: Event | Change) -> None:
            if not hands.dead:
                given.extend(items)
                for item in items:
                    self.note(item)
                put(*items)

        daemon.journal.put = noted  # type: ignore[method-assign]
