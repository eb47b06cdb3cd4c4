"""What must hold at every second of a life, and at its end."""

import logging
from typing import TYPE_CHECKING, Any

from monitor.changes import AlarmChange, Change, Forecast
from monitor.core.core import PAST_KEPT
from monitor.daemon import Daemon
from monitor.feeds.inbox import LONGEST as INBOX_LONGEST
from monitor.journal.rebuild import changes, rebuild
from monitor.journal.rows import CHANGES
from monitor.journal.writer import LONGEST as JOURNAL_LONGEST
from monitor.readings import Act, Event, Reject
from tests.simulation.counted import Counted
from tests.simulation.hearing import AGAIN_S, STANDING, Hearing
from tests.simulation.process import Process
from tests.simulation.warned import Warned

if TYPE_CHECKING:
    from tests.simulation.life import Life

SLACK_S = 1.5
"""Arrivals are counted by whole rounds and seconds."""
GOOD_FOR_S = 30.0
CRITICAL = ("dry", "dry-soon", "pump-starved")


class Checks(logging.Handler):
    """Collects failures, each a sentence; the first ends the life. It also hears what the daemon logs."""

    def __init__(self, life: "Life") -> None:
        super().__init__(logging.ERROR)
        self.life = life
        self.failures: list[str] = []
        self.hearing, self.counted, self.warned = Hearing(life), Counted(life), Warned(life)
        self._before: dict[str, str] = {}
        self._resumed = True
        self._permit: int | None = None
        self._stopped = False
        self._given = 0

    def fail(self, why: str) -> None:
        self.failures.append(f"{self.life.loop.time():.1f} s: {why}")

    def emit(self, record: logging.LogRecord) -> None:
        """A disk that refuses is said as an error, anything else is one."""
        if "can't be kept" not in record.getMessage():
            self.fail(f"the daemon logs an error: {record.getMessage()} {record.exc_info or ''}")

    # -- every second ---------------------------------------------------------------------------------------------

    def look(self) -> None:
        daemon = self.life.process.daemon
        self.hearing.look()
        self.counted.look()
        if daemon is None:
            self.warned.forget()
            return
        if (ended := self.life.process.ended_by_itself()) is not None:
            self.fail(f"the daemon ended by itself: {ended!r}")
            return
        self._take_given()
        self._time_goes_on(daemon)
        self._bounded(daemon)
        self._fresh(daemon)
        for each in (self.hearing, self.counted, self.warned):
            if (why := each.wrong(daemon)) is not None:
                self.fail(why)
        self._stands_again(daemon)
        self._told_as_it_is(daemon)
        self._kept_at_once(daemon)
        self._water(daemon)

    def _take_given(self) -> None:
        given = self.life.process.given[-1]
        for item in given[self._given :]:
            self.hearing.take(item)
            if isinstance(item, Reject) and item.kind == "fault":
                self.fail(f"a fault of the program on what came: {item.why}")
        self._given = len(given)

    def _time_goes_on(self, daemon: Daemon) -> None:
        began_at, began_s = self.life.process.began
        expected = began_at + self.life.clocks.monotonic() - began_s
        if abs(daemon.clock.now() - expected) > 1e-3:
            self.fail("the daemon's time is not the monotonic clock's")
        if daemon.core.now is not None and not -0.001 <= daemon.clock.now() - daemon.core.now <= SLACK_S:
            self.fail(f"the core is {daemon.clock.now() - daemon.core.now:.1f} s behind")

    def _bounded(self, daemon: Daemon) -> None:
        core = daemon.core
        status = daemon.journal.status()
        sizes = {
            "the inbox": (len(daemon.inbox._arrivals) + len(daemon.inbox._kept), INBOX_LONGEST),
            "the journal's queue": (status.waiting, 2 * JOURNAL_LONGEST),
            "the past": (len(core.past), PAST_KEPT),
            "kinds of rejects": (len(core.rejects), 40),
            "latest rejects": (len(core.latest_rejects), 20),
            "unknown names": (len(core.intake.unknown), 300),
            "alarms": (len(core.board.subjects()), 100),
            "open pages": (len(daemon.live._waiting), 64),
            "connections": (len([c for c in self.life.broker.clients if c.will is None]), 2),  # own nodes, strangers
        }
        for what, (size, most) in sizes.items():
            if size > most:
                self.fail(f"{what} grew to {size}, more than {most}")

    def _fresh(self, daemon: Daemon) -> None:
        """The level is never said to be younger than what has come, nor good when nothing has come for long."""
        core, now = daemon.core, daemon.clock.now()
        ages = [core.intake.signals[level.settings.reading].alive.age_s(now) for level in core.intake.levels]
        said = min((age for age in ages if age is not None), default=None)
        if len(ages) > 1:
            return
        heard_at = self.hearing.level_at
        true_age = None if heard_at is None else now - heard_at
        if said is not None and (true_age is None or said < true_age - SLACK_S):
            self.fail(f"the level is said to be {said:.1f} s old and is {true_age} s old")
        if (true_age is None or true_age > GOOD_FOR_S) and core.judge.level.quality == "good":
            self.fail(f"the level is called good, heard {true_age} s ago")

    def _water(self, daemon: Daemon) -> None:
        """A clean rig's volume is known, whatever is thrown at its messages: no water is invented."""
        life, belief = self.life, daemon.core.balance.belief
        if belief is None or daemon.core.judge.level.quality != "good" or life.story.scenario.tables.get("fault"):
            return
        if life.loop.time() - life.process.started_s < 60.0 or daemon.core.intake.moving:
            return
        off_l, capacity_l = abs(belief.volume_l - life.truth().volume_l), daemon.rig.tank.capacity_l
        if off_l > 8.0 * belief.volume_sd_l + 0.05 * capacity_l:
            self.fail(f"the volume is off by {off_l:.0f} l of {capacity_l:.0f}, sd {belief.volume_sd_l:.1f}")
        inflow = daemon.core.intake.meter
        if inflow is not None and inflow.inflow.l_min is not None and inflow.inflow.l_min > 250.0:
            self.fail(f"the meter is said to give {inflow.inflow.l_min:.0f} l/min")

    # -- over the daemon's ends and beginnings ----------------------------------------------------------------------

    def ends(self) -> None:
        daemon = self.life.process.daemon
        healthy = self.life.loop.time() > self.life.disk.ill_until_s and self.life.disk.fails_in is None
        lived_s = self.life.loop.time() - self.life.process.started_s
        self._before = {}
        if daemon is not None and healthy and lived_s > 10.0:
            now = daemon.clock.now()
            self._before = {
                alarm["alarm"]: alarm["state"] for alarm in daemon.core.board.standing()
                if alarm["alarm"] in CRITICAL and alarm["state"] in STANDING and now - alarm["since"] > 3.0
            }  # fmt: skip

    def starts(self) -> None:
        self._resumed = False
        self.hearing.starts()
        self.warned.forget()
        self._given = 0
        if (daemon := self.life.process.daemon) is not None:
            self.counted.begins(daemon)
        if torn := list(self.life.disk.folder.glob("*.damaged")):
            self.fail(f"{torn[0].name}: what was learned was found torn at the start")
        self._permit = None
        self._stopped = False

    def _stands_again(self, daemon: Daemon) -> None:
        """Within two seconds of the first reading; the core's clock begins with it."""
        if self._resumed or daemon.core.now is None:
            return
        if self.life.loop.time() - self.life.process.started_s < 3.0 or not self._given:
            return
        self._resumed = True
        for name, before in self._before.items():
            now = daemon.core.board.state_of(name)
            if now not in STANDING:
                self.fail(f"{name} stood before the end and does not stand after the start")
            elif (before, now) == ("acknowledged", "unacknowledged"):
                self.fail(f"{name} was acknowledged before the end and asks again after the start")

    # -- what others are told -----------------------------------------------------------------------------------------

    def heard(self, topic: str, payload: bytes) -> None:
        if topic == "holdwater/rig/permit":
            self._permitted(int(payload))

    def _permitted(self, count: int) -> None:
        """After a start it stands still until somebody resets it, and nobody here does."""
        self.fail(f"a permit was given ({count}) that nobody had reset")

    def _told_as_it_is(self, daemon: Daemon) -> None:
        broker = self.life.broker
        quiet_s = self.life.loop.time() - max(broker.up_since_s, self.life.process.started_s)
        if not broker.up or broker.cut or quiet_s < AGAIN_S:
            return
        if broker.retained.get("holdwater/rig/alive") != b"up":
            self.fail("the daemon runs, and the broker does not say so")
        for name in CRITICAL:
            told = broker.retained.get(f"holdwater/rig/alarm/{name}", b"nothing")
            stands = daemon.core.board.state_of(name)
            as_it_is = f'"state": "{stands}"'.encode() in told
            if not as_it_is and daemon.core.now is not None and not self._changed_now(daemon, name):
                self.fail(f"{name} is {stands}, and the broker keeps {told.decode()}")

    def _kept_at_once(self, daemon: Daemon) -> None:
        """What people did and were told does not wait for the journal's next turn."""
        life = self.life
        if life.disk.full or life.disk.fails_in is not None or life.loop.time() < life.disk.ill_until_s:
            return
        given, has = life.process.given[-1], life.process.acknowledged[-1]
        for item in given[has:]:
            if isinstance(item, AlarmChange | Act) and daemon.clock.now() - item.at > SLACK_S + 1.0:
                self.fail(f"not kept {daemon.clock.now() - item.at:.1f} s after it happened: {item}")

    def _changed_now(self, daemon: Daemon, name: str) -> bool:
        since = [alarm["since"] for alarm in daemon.core.board.standing() if alarm["alarm"] == name]
        given = self.life.process.given[-1][-400:]
        recent = [c for c in given if getattr(c, "alarm", None) == name and daemon.clock.now() - c.at < 3.0]
        return bool(recent) or any(daemon.clock.now() - at < 3.0 for at in since)

    def answered(self, path: str, status: int) -> None:
        if status >= 500:
            self.fail(f"{path} answers {status}")

    def shown(self, state: dict[str, Any], after_s: float) -> None:
        """A page is told at least once a second, and nothing older than that."""
        daemon = self.life.process.daemon
        if daemon is None:
            return
        if after_s > 1.1:
            self.fail(f"a page was told nothing for {after_s:.1f} s")
        if abs(state["at"] - daemon.clock.now()) > 1.0:
            self.fail(f"a page is shown {state['at']} at {daemon.clock.now()}")


def _as_kept(item: Event | Change) -> Any:
    """Figures are kept as they are told, no finer."""
    return item.line() if isinstance(item, Forecast | AlarmChange) else item


def stored_is_what_was_acknowledged(process: Process) -> list[str]:
    """Of each life, the journal has at least what it said it had, as it was given, and nothing else."""
    path = process.disk.folder / "holdwater.db"
    told = list(changes(path))
    stored: dict[Any, list[Any]] = {Event: list(rebuild(path))}
    for kind in CHANGES:  # each in its own order: at one time a forecast and a tally may have changed places
        stored[kind] = [item for item in told if isinstance(item, kind)]
    return next(filter(None, (_lost(process, kind, items) for kind, items in stored.items())), [])


def _lost(process: Process, kind: Any, stored: list[Any]) -> list[str]:
    """The first that was acknowledged and is not stored, or stored and not given."""
    what, at = getattr(kind, "__name__", "event"), 0
    for life, (given, acknowledged) in enumerate(zip(process.given, process.acknowledged, strict=True), 1):
        such = [item for item in given if isinstance(item, kind)]
        least = sum(isinstance(item, kind) for item in given[:acknowledged])
        kept = 0
        while kept < len(such) and at + kept < len(stored) and _as_kept(stored[at + kept]) == _as_kept(such[kept]):
            kept += 1
        at += kept
        if kept < least:
            found = stored[at] if at < len(stored) else "nothing more"
            return [f"life {life}: {what} {kept + 1} of {least} acknowledged: {such[kept]}; the journal has {found}"]
    return [f"the journal has an {what} that nobody gave: {stored[at]}"] if at < len(stored) else []
