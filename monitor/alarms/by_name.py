"""Alarms for those who know them by name alone: a replay's event lines, one retained topic a name.

With two pumps starved, `pump-starved` as a whole is as demanding as the worse of the two. A line is due when the
whole changes, and when another subject joins and calls for attention again; never because one of two has cleared.
"""

from collections.abc import Iterable
from typing import cast

from monitor.alarms.board import Board, most_demanding
from monitor.alarms.catalogue import ALARMS
from monitor.alarms.lifecycle import State
from monitor.changes import AlarmChange


class ByName:
    """Remembers what was said last of each name. Give it every change of its board, in order.

    It goes by the changes alone: many of them in one list give the same lines as each on its own.
    """

    def __init__(self, board: Board) -> None:
        self._of: dict[str, dict[str, State]] = {name: {} for name in ALARMS}
        for name, subject in board.subjects():
            self._of[name][subject] = board.state_of(name, subject)
        self.states: dict[str, State] = {name: board.state_of(name) for name in ALARMS}

    def __repr__(self) -> str:
        return f"<ByName {({name: state for name, state in self.states.items() if state != 'normal'})}>"

    def lines(self, changes: Iterable[AlarmChange]) -> list[AlarmChange]:
        """The changes that are news under the alarm's bare name; `state` is that of the name as a whole."""
        lines = []
        for change in changes:
            self._of[change.alarm][change.subject] = cast(State, change.state)
            whole = most_demanding(self._of[change.alarm].values())
            if whole != self.states[change.alarm] or change.state == whole == "unacknowledged":
                lines.append(change._replace(state=whole))
            self.states[change.alarm] = whole
        return lines
