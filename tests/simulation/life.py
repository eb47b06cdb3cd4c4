"""One seed: thirty minutes of a day, with the whole daemon in it, and everything thrown at it."""

import asyncio
import hashlib
import json
import logging
from collections.abc import Awaitable, Callable, Coroutine
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

import msgspec

from monitor.changes import AlarmChange
from simulated_feeds.doors import serial_lines
from simulated_feeds.shifts import FAMILIES, random_shift
from simulated_feeds.truth import Truth
from tests.simulation.asking import ask, follow
from tests.simulation.cable import Cable
from tests.simulation.checks import Checks, stored_is_what_was_acknowledged
from tests.simulation.disk import Disk
from tests.simulation.loop import Loop
from tests.simulation.network import Broker
from tests.simulation.process import Clocks, Process
from tests.simulation.throws import Throws

LIFE_S = 1800.0
HOURS = 2.5
LATEST_BEGIN_S = 5400.0
BEFORE_DRY_S = (200.0, 1500.0)


class Lived(NamedTuple):
    """How a seed went. `trace` is a digest of all that the daemon was given, decided and told."""

    seed: int
    failures: list[str]
    trace: str
    log: list[str]
    seconds: float
    lives: int


class Life:
    """Built from a seed and an empty folder; `lived` once."""

    def __init__(self, seed: int, folder: Path, life_s: float = LIFE_S) -> None:
        self.seed, self.life_s = seed, life_s
        self.rng = rng = Random(f"life {seed}")
        self.loop = Loop()
        self.log: list[str] = []
        self._digest = hashlib.sha256()
        self._encode = msgspec.msgpack.Encoder().encode
        self.story = random_shift(seed, rng.choice(FAMILIES), fault="mixed", hours=HOURS)
        self.began_at = self.story.start_at + self._begins_s()
        self.nodes = [node.name for node in self.story.aboard.nodes]
        self.pumps = [pump.name for pump in self.story.world.pumps]
        self.wired = {node for node in self.nodes if rng.random() < 0.3}
        self.away: set[str] = set()
        self.retains: set[str] = set()
        self.broker = Broker(self.loop, rng)
        self.cable, self.disk = Cable(), Disk(folder, self.loop.time)
        self.clocks = Clocks(self.loop, self.began_at + rng.choice((0.0, 0.0, -1e8)), rng.uniform(-2e-4, 2e-4))
        rig_file = folder / "rig.toml"
        rig_file.write_text(self._rig(), "utf-8")
        self.process = Process(
            rig_file, self.loop, self.clocks, self.broker, self.cable, self.disk, rng, self.trace
        )
        self.process.killed_by_disk = lambda: self.ends(self.process.kill)
        self.throws = Throws(self)
        self.checks = Checks(self)
        self._truth: Truth | None = None
        self._busy: set[asyncio.Task[Any]] = set()

    def _begins_s(self) -> float:
        """Anywhere in the day; every other life so that the tank is drawn dry within it, where it ever is."""
        anywhere_s = self.rng.uniform(0.0, LATEST_BEGIN_S)
        if self.rng.random() < 0.5:
            return anywhere_s
        world = self.story.world.fork()
        world.run_to(HOURS * 3600.0)
        before_s = self.rng.uniform(*BEFORE_DRY_S)
        return next((at_s - before_s for at_s in world.dry_at if at_s > before_s), anywhere_s)

    def _rig(self) -> str:
        """The shift's rig, with a serial line beside the broker and a permit."""
        serial = '\n[[feed]]\nserial = "/dev/ttyNODES"\n' if self.wired else ""
        permit = self.rng.random() < 0.5
        return f"{self.story.rig_toml}{serial}\n[notices]\npermit = {str(permit).lower()}\n"

    # -- what happens ---------------------------------------------------------------------------------------------

    def live(self) -> Lived:
        log = logging.getLogger("holdwater")
        log.addHandler(self.checks)
        asyncio.set_event_loop(self.loop)
        try:
            self.loop.run_until_complete(self._lived())
        finally:
            log.removeHandler(self.checks)
            asyncio.set_event_loop(None)
            self.loop.close()
        self.checks.failures += stored_is_what_was_acknowledged(self.process)
        return Lived(
            self.seed, self.checks.failures, self._digest.hexdigest(), self.log, self.life_s, self.process.lives
        )

    async def _lived(self) -> None:
        self.broker.heard.append(self._told)
        self.story.skip(self.began_at)
        for node in self.nodes:
            self.says_up(node)
        self.process.start()
        self.checks.starts()
        self.throws.begin()
        second = 0
        while second < self.life_s and not self.checks.failures:
            second += 1
            self._send_until(second)
            await asyncio.sleep(second - self.loop.time())
            self.process.reckon()
            self.checks.look()
        await self.process.stop()
        await asyncio.gather(*self._busy, return_exceptions=True)

    def _send_until(self, to_s: float) -> None:
        """What the nodes send up to then goes its ways, each thing at its time."""
        for event in self.story.advance(self.began_at + to_s):
            if "node" in event:
                self.loop.call_at(event["at"] - self.began_at, self._send, event)

    def _send(self, event: dict[str, Any]) -> None:
        node = event["node"]
        if node in self.wired:
            for line in serial_lines(event["pack"]) if "pack" in event else ():
                self.cable.write(line)
        elif node in self.away:
            return
        elif "pack" in event:
            retain = node in self.retains
            self.retains.discard(node)
            payload = json.dumps(event["pack"], separators=(",", ":")).encode()
            self.broker.from_node(f"holdwater/{node}/readings", payload, retain)
        else:
            self.broker.publish(f"holdwater/{node}/alive", event["alive"].encode(), True)

    def says_up(self, node: str) -> None:
        if node not in self.wired and node not in self.away:
            self.broker.publish(f"holdwater/{node}/alive", b"up", True)

    # -- what throws ask ------------------------------------------------------------------------------------------

    def ends(self, how: Callable[[], Awaitable[None]]) -> None:
        """The daemon ends so, and is started again by whoever looks after it."""
        self._go(self._ended(how))

    async def _ended(self, how: Callable[[], Awaitable[None]]) -> None:
        if self.process.daemon is None:
            return
        self.checks.ends()
        await how()
        await asyncio.sleep(self.rng.uniform(0.3, 8.0))
        if self.loop.time() < self.life_s and self.process.daemon is None:
            self.note(f"{self.loop.time():.3f} the daemon is started")
            self.process.start()
            self.checks.starts()

    def asks(self, method: str, path: str, said: Any = None) -> None:
        if self.process.app is not None:
            self._go(self._asked(method, path, said))

    async def _asked(self, method: str, path: str, said: Any) -> None:
        assert self.process.app is not None
        status, answer = await ask(self.process.app, method, path, said)
        self.note(f"{self.loop.time():.3f} {method} {path}: {status} {answer if status >= 400 else ''}")
        self.checks.answered(path, status)

    def follows(self, for_s: float) -> None:
        if self.process.app is not None:
            self._go(self._followed(for_s))

    async def _followed(self, for_s: float) -> None:
        assert self.process.app is not None
        last_s = self.loop.time()
        async for state in follow(self.process.app, for_s):
            self.checks.shown(state, self.loop.time() - last_s)
            last_s = self.loop.time()

    def _go(self, work: Coroutine[Any, Any, None]) -> None:
        task = self.loop.create_task(work)
        self._busy.add(task)
        task.add_done_callback(self._done)

    def _done(self, task: asyncio.Task[Any]) -> None:
        self._busy.discard(task)
        if not task.cancelled() and task.exception() is not None:
            self.checks.fail(f"the simulation itself: {task.exception()!r}")

    # -- what is so, and what is noted ----------------------------------------------------------------------------

    @property
    def story_s(self) -> float:
        """The story's own time."""
        return self.began_at + self.loop.time() - self.story.start_at

    def truth(self) -> Truth:
        at = self.began_at + self.loop.time()
        if self._truth is None or self._truth.at != at:
            self._truth = self.story.truth(at, 0.0)
        return self._truth

    def note(self, said: str) -> None:
        self.log.append(said)
        self._digest.update(said.encode())

    def trace(self, item: Any) -> None:
        self._digest.update(type(item).__name__.encode() + self._encode(item))
        if isinstance(item, AlarmChange) and item.priority == "critical" and item.state == "unacknowledged":
            self.throws.warned(item.alarm)

    def _told(self, topic: str, payload: bytes, _retain: bool) -> None:
        if topic.startswith("holdwater/rig/"):
            self._digest.update(topic.encode() + payload)
        self.checks.heard(topic, payload)
