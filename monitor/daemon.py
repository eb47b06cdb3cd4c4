"""The daemon: builds every part, runs them on one event loop, closes them in reverse.

The deciding loop is woken by arrivals and by the clock. Each round it decides, then shows, then hands over for storage:
nothing slow stands before a warning.
"""

import asyncio
import contextlib
import logging
import signal
import socket
from collections.abc import Callable, Coroutine, Iterator
from contextlib import ExitStack
from operator import length_hint
from pathlib import Path
from typing import Any, TypeAlias

from monitor.alarms.refusals import Refused
from monitor.changes import AlarmChange, Change
from monitor.computer import Computer
from monitor.core import Core
from monitor.core.basis import Basis, basis
from monitor.core.owner import owner
from monitor.core.standing import past, standing
from monitor.faults import Faults
from monitor.feeds.clock import LiveClock, WallWatch
from monitor.feeds.feed import Feed, FeedStatus
from monitor.feeds.inbox import Inbox
from monitor.feeds.open import backstage_of, open_feeds, speed_of
from monitor.journal.history import History
from monitor.journal.retention import Keep
from monitor.journal.writer import Journal
from monitor.machine import Machine
from monitor.notices import horn
from monitor.notices.mqtt_out import MqttOut
from monitor.notices.permit import Permit, said
from monitor.notices.systemd import Systemd
from monitor.notices.telling import Telling
from monitor.pages.app import ActRefused, Part, create_app
from monitor.pages.bench import Bench
from monitor.pages.door import door_of
from monitor.pages.guard import Guard
from monitor.pages.live import Live
from monitor.pages.rendering import Rendering
from monitor.pages.serving import serve, serve_devices
from monitor.readings import Act, Passing
from monitor.rig.faults import RigFaults
from monitor.rig.feed_tables import SimulatedFeed
from monitor.rig.load import load
from monitor.rig.model import Rig
from monitor.rounds import Rounds
from monitor.state_file import Saver, StateFile

log = logging.getLogger("holdwater")

Serving: TypeAlias = Callable[[Guard, asyncio.Event], Coroutine[Any, Any, None]]
"""Serves the pages until the event is set."""

GIVES_UP_S = 30.0
REPORT = "Restart it; report what the log says."
LOOP_LATE_S = 5.0
KEPT = ("feeds", "page", "journal", "notices")
"""Tables that take effect at the next start only."""


class Undecided(Exception):
    """A daemon that can't decide any more must not look alive."""


class Daemon:
    """One rig, watched. Build it, `run` it; it ends on SIGINT or SIGTERM. `practice`: see `monitor/practice.py`."""

    practice: Any = None

    def __init__(self, rig: Rig, rig_path: Path | None = None, machine: Machine | None = None) -> None:
        self.rig, self.rig_path = rig, rig_path
        self.machine = machine = machine or Machine()
        self.clock = LiveClock(machine.wall(), speed_of(rig.feeds), machine.monotonic)
        self.wall = WallWatch(self.clock, machine.wall)
        self.inbox = Inbox(self.clock)
        self.started_s = self.round_s = machine.monotonic()
        state_file = StateFile(rig.journal.file, machine.sync)
        self.faults = Faults(machine.monotonic)
        self.computer = Computer(rig.journal.file.parent, machine.hire)
        self.core = self._begin(state_file)
        self.saver = Saver(state_file, self.started_s, machine.hire) if self.source == "live" else None
        self.feeds: list[Feed] = []
        self.bench: Bench | None = None
        self.history = History(rig.journal.file)
        keep = Keep(rig.journal.raw_days, rig.journal.most_mb, rig.journal.rollup_years)
        self.journal = Journal(
            rig.journal.file,
            machine.monotonic,
            wall=machine.wall,
            keep=keep,
            hire=machine.hire,
            connect=machine.database,
        )
        self.live = Live(self.state_bytes)
        self.door = door_of(rig)
        permit = Permit() if rig.notices.permit and self.source == "live" else None
        out = None if rig.broker is None else MqttOut(rig.broker, machine.hire, machine.mqtt_client)
        self.telling = None if out is None else Telling(out, permit)
        self.horn = horn.horn_of(rig, out, machine.monotonic, machine.hire)
        self.systemd = Systemd()
        self._until = 0.0
        self._rounds = Rounds(self._round)
        self._stop = asyncio.Event()
        self._render = Rendering()
        self._journal_ok = True

    def _begin(self, state_file: StateFile) -> Core:
        """With what was learned before, where it is of use; what a story taught is not kept."""
        saved = state_file.read() if self.source == "live" else None
        try:
            return Core(self.rig, saved, self.faults.held)
        except (AttributeError, LookupError, TypeError, ValueError) as error:
            state_file.put_aside(error)
            return Core(self.rig, held=self.faults.held)

    # -- running ----------------------------------------------------------------------------------------------

    @property
    def simulated(self) -> bool:
        return any(feed.kind == "simulated" for feed in self.rig.feeds)

    @property
    def source(self) -> str:
        kinds = {feed.kind for feed in self.rig.feeds}
        return "simulated" if "simulated" in kinds else "recorded" if "recorded" in kinds else "live"

    async def run(self, sock: socket.socket, ready: Callable[[], None] = lambda: None) -> None:
        """Until a signal says stop. `sock` listens already; `ready` is called once everything runs.

        Raises JournalInUse where another daemon writes this rig's journal.
        """
        with self._signals(asyncio.get_running_loop()):
            await self.live_on(lambda app, stop: self._serve(app, sock, stop), ready)

    def _serve(self, app: Guard, sock: socket.socket, stop: asyncio.Event) -> Coroutine[Any, Any, None]:
        if self.door is None:
            return serve(app, sock, stop)
        return serve_devices(app, sock, stop, self.door, self.rig)

    async def live_on(self, serving: Serving, ready: Callable[[], None] = lambda: None) -> None:
        """Until `stop`, whoever calls it; the pages are served by `serving`, the end of which is the daemon's too."""
        self.inbox.on_arrival = self._rounds.wake
        with ExitStack() as open_parts:
            self.journal.start()
            open_parts.callback(self._close, "journal", self.journal.close)
            open_parts.callback(self._close, "last round", self._end)
            self.computer.start()
            open_parts.callback(self._close, "computer", self.computer.close)
            self._open_notices(open_parts)
            self._open_feeds(open_parts)
            guarded = Guard(create_app(self, self.live, self.door), self.door)
            server = asyncio.create_task(serving(guarded, self._stop))
            server.add_done_callback(lambda _: self.stop())
            ready()
            self.systemd.ready(self.rig.about.name)
            try:
                await self._rounds.go_on()
            finally:
                self.systemd.stopping()
                self.stop()
                self.live.close()
                await server

    def stop(self) -> None:
        """Everything is closed, and what is waiting kept."""
        self._stop.set()
        self._rounds.stop()

    def _open_notices(self, open_parts: ExitStack) -> None:
        if self.telling is not None:
            self.telling.follow(self.core.board, self.clock.now())
            self.telling.out.start()
            open_parts.callback(self._close, "notices", self.telling.out.close)
        if self.horn is not None:
            self.horn.start()
            open_parts.callback(self._close, "horn", self.horn.close)

    def _open_feeds(self, open_parts: ExitStack) -> None:
        self._mark()
        self.feeds = open_feeds(self.rig.feeds, self.clock, self.machine, list(self.core.intake.nodes))
        if (backstage := backstage_of(self.feeds)) is not None:
            self.bench = Bench(backstage)
        for feed in self.feeds:
            feed.start(self.inbox)
            open_parts.callback(self._close, feed.name, feed.close)

    def _mark(self) -> None:
        """A recording has to begin and end with the seconds that were lived, not with the arrivals in them."""
        self.inbox.put(Passing(self.clock.now()))

    def _end(self) -> None:
        """The feeds are closed: what came in meanwhile is still decided and kept."""
        self._mark()
        self._round()
        if self.saver is not None:
            self.saver.close(self.core.save())

    @contextlib.contextmanager
    def _signals(self, loop: asyncio.AbstractEventLoop) -> Iterator[None]:
        for number in (signal.SIGINT, signal.SIGTERM):
            loop.add_signal_handler(number, self.stop)
        loop.add_signal_handler(signal.SIGHUP, self.reload)
        yield
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            loop.remove_signal_handler(number)

    def _round(self) -> None:
        """One round: decide, show and tell, hand over for storage."""
        if step := self.wall.step():
            self.inbox.put(step)
        events, self._until = self.inbox.drain_to_now()
        changes: list[Change] = []
        left, decided = iter(events), False
        while length_hint(left):  # what a fault cost is one event, the rest is still taken
            with self.faults.held("deciding"):
                for event in left:
                    changes += self.core.take(event)
        with self.faults.held("deciding"):
            changes += self.core.advance(self._until)
            decided = True
        if something := bool(events or changes):
            self.live.changed(len(events))
        if decided:  # else neither permit nor watchdog hears of it: the pumps' relay falls, systemd starts us anew
            self._tell(changes)
        elif self.machine.monotonic() - self.round_s > GIVES_UP_S:
            raise Undecided("Nothing could be decided for too long; see the fault above. Ended, to be started anew.")
        if self.bench is not None:
            self.bench.believe(changes)
        if something:
            self.journal.put(*events, *changes)
        self._keep(changes)

    def _tell(self, changes: list[Change]) -> None:
        self.round_s = self.machine.monotonic()
        with self.faults.held("notices"):
            if self.telling is not None:
                self.telling.tell(self.round_s, self.core, changes, self.state_bytes)
        with self.faults.held("horn"):
            if self.horn is not None:
                self.horn.hear(self.round_s, self.core.board, bool(self.core.intake.moving))
        self.systemd.alive(self.round_s)

    def _keep(self, changes: list[Change]) -> None:
        """What was learned goes into the state file now and then; a change of an alarm at once."""
        alarms = [change for change in changes if isinstance(change, AlarmChange)]
        for change in alarms:
            of = f" of {change.subject}" if change.subject else ""
            # The name in the line itself: else alarms of many kinds would count as one line that comes again and again.
            log.info(f"alarm {change.alarm}%s: %s", of, change.state)
        ok = self.journal.status().ok
        if ok != self._journal_ok:
            self._journal_ok = ok
            self.inbox.put(Act(self.clock.now(), "journal", "daemon", None, {"ok": ok}))
        if self.saver is not None:
            self.saver.tick(self.round_s, bool(alarms), self.core.save)

    def reload(self) -> None:
        """SIGHUP: check the rig file and take it over, keeping what is known; a wrong file changes nothing."""
        if self.rig_path is None:
            return
        try:
            rig = load(self.rig_path)
        except RigFaults as faults:
            log.error("The rig file was not taken over: %s", faults)
            return
        kept = {table: getattr(self.rig, table) for table in KEPT}
        if any(getattr(rig, table) != value for table, value in kept.items()):
            log.warning("What the rig file says of %s takes effect at the next start.", ", ".join(KEPT))
        self._take_over(rig.model_copy(update=kept))
        log.info("The rig file was taken over.")

    def _take_over(self, rig: Rig) -> None:
        """A new core for the changed rig, with all that the old one had learned and counted."""
        old = self.core
        self.rig, self.core = rig, Core(rig, old.save(), old.held)
        self.core.past, self.core.wall_offset_s = old.past, old.wall_offset_s
        self.core.rejects, self.core.latest_rejects = old.rejects, old.latest_rejects
        if self.telling is not None:
            self.telling.follow(self.core.board, self.clock.now())
        self.systemd.ready(rig.about.name)
        self.live.changed()

    @staticmethod
    def _close(name: str, close: Any) -> None:
        try:
            close()
        except Exception:
            log.exception("%s did not close; the rest goes on", name)

    # -- what the pages ask -----------------------------------------------------------------------------------

    def state(self) -> dict[str, Any]:
        state = standing(self.core, max(self.clock.now(), self._until))
        journal = self.journal.status()
        return state | {
            "seq": self.live.pushes,
            "speed": self.clock.speed,
            "source": self.source,
            "scenario": next((f.scenario for f in self.rig.feeds if isinstance(f, SimulatedFeed)), None),
            "started_s": round(self.machine.monotonic() - self.started_s, 1),
            "feeds": [feed.status()._asdict() for feed in self.feeds],
            "notices": None if self.telling is None else self.telling.out.status()._asdict(),
            "horn": None if self.horn is None else self.horn.status()._asdict(),
            "faults": self.faults.parts(),
            "permit": None if self.telling is None else self.telling.permit_state(),
            "dropped": self.inbox.dropped,
            "journal": journal._asdict(),
        }

    def state_bytes(self) -> bytes:
        return self._render(self.state())

    def past(self, minutes: int) -> dict[str, Any]:
        return past(self.core, minutes)

    def basis(self) -> Basis:
        return basis(self.core)

    def owner(self) -> dict[str, Any]:
        feeds = [feed.status()._asdict() for feed in self.feeds]
        more = {"feeds": feeds, "computer": self.computer.look()._asdict()}
        return owner(self.core, max(self.clock.now(), self._until)) | more

    def act(self, act: str, by: str, alarm: str | None, detail: dict[str, Any]) -> None:
        done = Act(self.clock.now(), act, by, alarm, detail or None)
        language = self.rig.about.language
        try:
            self.core.acts.check(done)
        except Refused as refused:
            raise ActRefused(refused.error(language), refused.do(language)) from None
        if act == "reset-permit":
            against = "off" if self.telling is None else self.telling.reset_permit(self.core)
            if against is not None:
                raise ActRefused(*said(against, language))
        if act == "test-horn":
            why = horn.refusal(self.rig)
            if why is not None or self.horn is None:
                raise ActRefused(*horn.said(why or "no horn", language))
            self.horn.test(detail.get("pattern", "release"))
        self.inbox.put(done)

    def health(self) -> list[Part]:
        journal = self.journal.status()
        told = [] if self.telling is None else [self.telling.out.status()]
        told += [] if self.horn is None else [self.horn.status()]
        return [
            *(_of_feed(status) for status in [*(feed.status() for feed in self.feeds), *told]),
            Part("journal", journal.ok, "" if journal.ok else journal.why, "" if journal.ok else journal.do),
            self._deciding(),
            Part("computer", (ill := self.computer.look().fault()) is None, *(ill or ())),
            *(Part(of, False, f"The program has a fault in its {of}.", REPORT) for of in self.faults.parts()
              if of != "deciding"),
            self._level(),
        ]

    def lag_s(self) -> float:
        return self.machine.monotonic() - self.round_s

    def _deciding(self) -> Part:
        late_s = self.lag_s()
        if (fault := self.faults.recent("deciding")) is not None:
            return Part("deciding", False, f"The program has a fault: {fault}.", REPORT)
        if late_s < LOOP_LATE_S:
            return Part("deciding", True)
        return Part("deciding", False, f"Nothing has been decided for {late_s:.0f} s.", "Restart the daemon.")

    def _level(self) -> Part:
        unheard = {"never heard": "No level has come yet.", "missing": "The level is not heard any more."}
        why = unheard.get(self.core.judge.level.reason)
        if why is None:
            return Part("level", True)
        return Part("level", False, why, "Look at the level sensor, its node and what connects it.")


def _of_feed(status: FeedStatus) -> Part:
    return Part(status.name, status.ok, status.why, status.do)
