"""The daemon: builds every part, runs them on one event loop, closes them in reverse.

The deciding loop is woken by arrivals and by the clock. Each round it decides, then shows, then hands over for storage:
nothing slow stands before a warning.
"""

import asyncio
import contextlib
import json
import logging
import os
import signal
import socket
import time
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import Any

import msgspec
import uvicorn
from uvicorn.config import Config

from monitor.alarms.refusals import Refused
from monitor.alarms.words import words
from monitor.changes import AlarmChange, Change
from monitor.core import Core
from monitor.core.standing import past, standing
from monitor.feeds.clock import LiveClock
from monitor.feeds.feed import Feed, FeedStatus
from monitor.feeds.inbox import Inbox
from monitor.feeds.open import open_feeds, speed_of
from monitor.journal.writer import Journal
from monitor.pages.app import ActRefused, Part, create_app
from monitor.pages.guard import Guard
from monitor.pages.live import Live
from monitor.readings import Act, WallStep
from monitor.rig.faults import RigFaults
from monitor.rig.feed_tables import SimulatedFeed
from monitor.rig.load import load
from monitor.rig.model import Rig
from monitor.state_file import StateFile

log = logging.getLogger("holdwater")

ROUND_S = 0.2
SAVE_S = 10.0
WALL_STEP_S = 2.0
STOP_S = 2.0
LOOP_LATE_S = 5.0


class CannotStart(Exception):
    """Something the daemon can't do without; the message says what, why, and what to do."""


class Daemon:
    """One rig, watched. Build it, `run` it; it ends on SIGINT or SIGTERM."""

    def __init__(self, rig: Rig, rig_path: Path | None = None) -> None:
        self.rig, self.rig_path = rig, rig_path
        self.clock = LiveClock(speed=speed_of(rig.feeds))
        self.inbox = Inbox(self.clock)
        self.state_file = StateFile(rig.journal.file)
        self.core = Core(rig, None if self.simulated else self.state_file.read())
        self.feeds: list[Feed] = []
        self.journal = Journal(rig.journal.file)
        self.live = Live(self.state_bytes)
        self.started_s = self.round_s = time.monotonic()
        self._until = 0.0
        self._wake = asyncio.Event()
        self._stop = asyncio.Event()
        self._encode = msgspec.json.Encoder().encode
        self._wall_offset_s = time.time() - self.clock.now()
        self._saved_s = self.started_s
        self._savers = ThreadPoolExecutor(1, "state file")  # a slow disk must not hold up the deciding loop
        self._saving: Future[None] | None = None
        self._journal_ok = True

    # -- running ----------------------------------------------------------------------------------------------

    @property
    def simulated(self) -> bool:
        return any(feed.kind == "simulated" for feed in self.rig.feeds)

    @property
    def source(self) -> str:
        kinds = {feed.kind for feed in self.rig.feeds}
        return "simulated" if "simulated" in kinds else "recorded" if "recorded" in kinds else "live"

    async def run(self, sock: socket.socket) -> None:
        """Until a signal says stop. `sock` is bound and not yet listening."""
        loop = asyncio.get_running_loop()
        self.inbox.on_arrival = partial(_wake_up, loop, self._wake)
        with ExitStack() as open_parts, self._signals(loop):
            self.journal.start()
            open_parts.callback(self._close, "journal", self.journal.close)
            open_parts.callback(self._close, "state file", self._save_last)
            self.feeds = open_feeds(self.rig.feeds, self.clock)
            for feed in self.feeds:
                feed.start(self.inbox)
                open_parts.callback(self._close, feed.name, feed.close)
            server = asyncio.create_task(self._serve(sock))
            try:
                await self._decide()
            finally:
                self.live.close()
                await server

    @contextlib.contextmanager
    def _signals(self, loop: asyncio.AbstractEventLoop) -> Iterator[None]:
        for number in (signal.SIGINT, signal.SIGTERM):
            loop.add_signal_handler(number, self._stop.set)
        loop.add_signal_handler(signal.SIGHUP, self._reload)
        yield
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            loop.remove_signal_handler(number)

    async def _decide(self) -> None:
        """The deciding loop."""
        while not self._stop.is_set():
            self._round()
            self._wake.clear()
            waits = [asyncio.create_task(self._wake.wait()), asyncio.create_task(self._stop.wait())]
            await asyncio.wait(waits, timeout=ROUND_S, return_when=asyncio.FIRST_COMPLETED)
            for wait in waits:
                wait.cancel()

    def _round(self) -> None:
        """One round: decide, show, hand over for storage."""
        self._watch_the_wall()
        events, self._until = self.inbox.drain_to_now()
        changes: list[Change] = []
        for event in events:
            changes += self.core.take(event)
        changes += self.core.advance(self._until)
        if events or changes:
            self.live.changed()
        for event in events:
            self.journal.put(event)
        for change in changes:
            self.journal.put(change)
        self.round_s = time.monotonic()
        self._keep(changes)

    def _keep(self, changes: list[Change]) -> None:
        """What was learned goes into the state file now and then; a change of an alarm at once."""
        for change in changes:
            if isinstance(change, AlarmChange):
                log.info("alarm %s %s: %s", change.alarm, change.subject, change.state)
        ok = self.journal.status().ok
        if ok != self._journal_ok:
            self._journal_ok = ok
            self.inbox.put(Act(self.clock.now(), "journal", "daemon", None, {"ok": ok}))
        alarms = any(isinstance(change, AlarmChange) for change in changes)
        if alarms or self.round_s - self._saved_s > SAVE_S:
            self._save()

    def _save(self) -> None:
        """Off the loop; skipped while the last one is still under way, so that nothing piles up."""
        if self.source == "live" and (self._saving is None or self._saving.done()):
            self._saved_s = self.round_s
            self._saving = self._savers.submit(self.state_file.write, self.core.save())

    def _save_last(self) -> None:
        self._savers.shutdown(wait=True, cancel_futures=True)
        if self.source == "live":
            self.state_file.write(self.core.save())

    def _watch_the_wall(self) -> None:
        """A wall clock that was stepped is noted; it moves nothing."""
        if self.clock.speed != 1.0:
            return
        offset = time.time() - self.clock.now()
        if abs(offset - self._wall_offset_s) > WALL_STEP_S:
            self._wall_offset_s = offset
            now = self.clock.now()
            self.inbox.put(WallStep(now, now + offset))

    def _reload(self) -> None:
        """SIGHUP: check the rig file and take it over, keeping what is known; a wrong file changes nothing."""
        if self.rig_path is None:
            return
        try:
            rig = load(self.rig_path)
        except RigFaults as faults:
            log.error("The rig file was not taken over: %s", faults)
            return
        if rig.feeds != self.rig.feeds or rig.page != self.rig.page or rig.journal != self.rig.journal:
            log.warning("Feeds, page and journal of the rig file take effect at the next start.")
        saved = self.core.save()
        self.rig, self.core = rig, Core(rig, saved)
        log.info("The rig file was taken over.")

    @staticmethod
    def _close(name: str, close: Any) -> None:
        try:
            close()
        except Exception:
            log.exception("%s did not close; the rest goes on", name)

    async def _serve(self, sock: socket.socket) -> None:
        app = Guard(create_app(self, self.live))
        config = Config(
            app, log_level="warning", lifespan="off", access_log=False, timeout_graceful_shutdown=1,
            limit_concurrency=200, server_header=False,
        )  # fmt: skip
        server = _Server(config)
        serving = asyncio.create_task(server.serve(sockets=[sock]))
        await self._stop.wait()
        server.should_exit = True
        await serving

    # -- what the pages ask -----------------------------------------------------------------------------------

    def state(self) -> dict[str, Any]:
        state = standing(self.core, max(self.clock.now(), self._until))
        journal = self.journal.status()
        return state | {
            "seq": self.live.pushes,
            "speed": self.clock.speed,
            "source": self.source,
            "scenario": next((f.scenario for f in self.rig.feeds if isinstance(f, SimulatedFeed)), None),
            "started_s": round(time.monotonic() - self.started_s, 1),
            "feeds": [feed.status()._asdict() for feed in self.feeds],
            "dropped": self.inbox.dropped,
            "journal": journal._asdict(),
        }

    def state_bytes(self) -> bytes:
        return self._encode(self.state())

    def past(self, minutes: int) -> dict[str, Any]:
        return past(self.core, minutes)

    def words(self, language: str) -> dict[str, Any]:
        page_words = json.loads(files("dashboards").joinpath("words", f"{language}.json").read_text("utf-8"))
        return {**page_words, "alarms": words("es" if language == "es" else "en")}

    def act(self, act: str, by: str, alarm: str | None, detail: dict[str, Any]) -> None:
        done = Act(self.clock.now(), act, by, alarm, detail or None)
        try:
            self.core.acts.check(done)
        except Refused as refused:
            language = self.rig.about.language
            raise ActRefused(refused.error(language), refused.do(language)) from None
        self.inbox.put(done)

    def health(self) -> list[Part]:
        late = time.monotonic() - self.round_s
        parts = [_of_feed(feed.status()) for feed in self.feeds]
        journal = self.journal.status()
        parts.append(Part("journal", journal.ok, journal.why, journal.do))
        parts.append(
            Part("deciding", late < LOOP_LATE_S, f"no decision for {late:.0f} s", "restart the daemon")
            if late >= LOOP_LATE_S
            else Part("deciding", True)
        )
        level = self.core.judge.level
        heard = level.reason not in ("missing", "never heard")
        parts.append(Part("level", heard, "" if heard else f"the level is {level.reason}", "look at the sensor"))
        return parts


class _Server(uvicorn.Server):
    """Leaves the signals to the daemon."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def _wake_up(loop: asyncio.AbstractEventLoop, wake: asyncio.Event) -> None:
    with contextlib.suppress(RuntimeError):  # the loop is closed already: nobody is left to wake
        loop.call_soon_threadsafe(wake.set)


def _of_feed(status: FeedStatus) -> Part:
    return Part(status.name, status.ok, status.why, status.do)


def bind(host: str, port: int) -> socket.socket:
    """The page's socket, bound by ourselves, so that a port in use is a sentence. Raises CannotStart."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    sock = socket.socket(family, socket.SOCK_STREAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((host, port))
    except OSError as error:
        sock.close()
        raise CannotStart(
            f"The page can't be served on {host}:{port}: {os.strerror(error.errno or 0)}. If another program (perhaps"
            f" another Holdwater) has it, stop that one, or set another port under [page] listen."
        ) from None
    return sock
