"""What is told, and when: the state each second, an alarm's bare name whenever it is news."""

import json
from collections.abc import Callable, Iterable

from monitor.alarms.board import Board
from monitor.alarms.by_name import ByName
from monitor.alarms.catalogue import ALARMS
from monitor.changes import AlarmChange, Change
from monitor.notices.mqtt_out import MqttOut

EVERY_S = 1.0


class Telling:
    """Called by every deciding round, in which it does no more than hand over."""

    def __init__(self, out: MqttOut) -> None:
        self.out = out
        self._due_s = float("-inf")

    def follow(self, board: Board, at: float) -> None:
        """From now on this board is told of. All names once: what a broker has kept may be from before a power cut."""
        self._names = ByName(board)
        for name, alarm in ALARMS.items():
            self._keep(AlarmChange(at, name, alarm.priority, self._names.states[name]))

    def tell(self, now_s: float, changes: Iterable[Change], render: Callable[[], bytes]) -> None:
        """`now_s` counts real seconds and never falls; `render` gives the state as JSON."""
        for news in self._names.lines(change for change in changes if isinstance(change, AlarmChange)):
            self._keep(news)
        if now_s >= self._due_s:
            self._due_s = max(self._due_s + EVERY_S, now_s)
            self.out.say("state", render())

    def _keep(self, change: AlarmChange) -> None:
        self.out.keep(f"alarm/{change.alarm}", json.dumps(change.line(), ensure_ascii=False).encode())
