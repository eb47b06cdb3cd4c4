"""What is told, and when: the state each second, an alarm's bare name whenever it is news."""

import json
from collections.abc import Callable, Iterable
from typing import Any

from monitor.alarms.board import Board
from monitor.alarms.by_name import ByName
from monitor.alarms.catalogue import ALARMS
from monitor.changes import AlarmChange, Change
from monitor.core import Core
from monitor.notices.mqtt_out import MqttOut
from monitor.notices.permit import Permit, Seen, Why

EVERY_S = 1.0
ALIVE_EVERY_S = 10.0
"""The will of a connection that broke may come to the broker after the next has said that we live."""


class Telling:
    """Called by every deciding round, in which it does no more than hand over."""

    def __init__(self, out: MqttOut, permit: Permit | None = None) -> None:
        """`permit` None: it is never published."""
        self.out = out
        self.permit = permit
        self._due_s = self._alive_due_s = float("-inf")

    def follow(self, board: Board, at: float) -> None:
        """From now on this board is told of. All names once: what a broker has kept may be from before a power cut."""
        self._names = ByName(board)
        for name, alarm in ALARMS.items():
            self._keep(AlarmChange(at, name, alarm.priority, self._names.states[name]))

    def tell(self, now_s: float, core: Core, changes: Iterable[Change], render: Callable[[], bytes]) -> None:
        """`now_s` counts real seconds and never falls; `render` gives the state as JSON."""
        for news in self._names.lines(change for change in changes if isinstance(change, AlarmChange)):
            self._keep(news)
        if now_s >= self._due_s:
            on_time_s = self._due_s + EVERY_S
            self._due_s = on_time_s if on_time_s > now_s else now_s + EVERY_S  # what was missed is not made up for
            self._permit(now_s, core)
            self.out.say("state", render())
        if now_s >= self._alive_due_s:
            self._alive_due_s = now_s + ALIVE_EVERY_S
            self.out.keep("alive", b"up")

    def reset_permit(self, core: Core) -> Why | None:
        """A person at the rig lets pumps run again; why not, where something stands against it."""
        if self.permit is None:
            return "off"
        return self.permit.reset(all(pump.state in ("off", "bypass") for pump in core.pumps))

    def permit_state(self) -> dict[str, Any] | None:
        """For the pages; None where no permit is published."""
        return None if self.permit is None else {"on": self.permit.stopped is None, "why": self.permit.stopped}

    def _permit(self, now_s: float, core: Core) -> None:
        if self.permit is None:
            return
        count = self.permit.look(now_s, _seen(core, self.out.status().ok))
        if count is not None:
            self.out.say("permit", str(count).encode())

    def _keep(self, change: AlarmChange) -> None:
        self.out.keep(f"alarm/{change.alarm}", json.dumps(change.line(), ensure_ascii=False).encode())


def _seen(core: Core, connected: bool) -> Seen:
    trusted = core.sound and core.judge.level.quality == "good"
    dry, dry_soon = core.board.state_of("dry"), core.board.state_of("dry-soon")
    return Seen(dry, dry_soon, trusted, connected, 0.5 * core.rig.warn.act_time_s)
