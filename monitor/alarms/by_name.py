"""Alarms for those who know them by name alone: a replay's event lines, one retained topic a name.

With two pumps starved, `pump-starved` as a whole is as demanding as the worse of the two. A line is due when the
whole changes, and when another subject joins and calls for attention again; never because one of two has cleared.
"""

from collections.abc import Iterable

from monitor.alarms.board import Board
from monitor.alarms.catalogue import ALARMS
from monitor.alarms.lifecycle import State
from monitor.changes import AlarmChange


class ByName:
    """Remembers what was said last of each name. Give it every list of changes of its board, in order."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self.states: dict[str, State] = {name: board.state_of(name) for name in ALARMS}

    def __repr__(self) -> str:
        return f"<ByName {({name: state for name, state in self.states.items() if state != 'normal'})}>"

    def lines(self, changes: Iterable[AlarmChange]) -> list[AlarmChange]:
        """The changes that are news under the alarm's bare name; `state` is that of the name as a whole."""
        lines = []
        for change in changes:
            whole = self._board.state_of(change.alarm)
            if whole != self.states[change.alarm] or change.state == whole == "unacknowledged":
                lines.append(change._replace(state=whole))
            self.states[change.alarm] = whole
        return lines
