"""How often the state is told: once a second, also after a second that was missed."""

from typing import Any

from trailer import rig

from monitor.core import Core
from monitor.notices.telling import Telling


class Paper:
    """Where another would have a broker."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def say(self, topic: str, said: bytes) -> None:
        self.said.append(topic)

    def keep(self, topic: str, said: bytes) -> None:
        self.said.append(topic)


def told_at(rounds: list[float]) -> list[float]:
    """The rounds in which the state was told."""
    core, out = Core(rig()), Paper()
    written: Any = out
    telling, told = Telling(written), []
    telling.follow(core.board, 0.0)
    for now_s in rounds:
        out.said.clear()
        telling.tell(now_s, core, [], lambda: b"{}")
        told += [now_s] if "state" in out.said else []
    return told


def test_a_late_round_does_not_move_those_after_it() -> None:
    assert told_at([10.0, 10.9, 11.3, 11.9, 12.1, 12.9, 13.0]) == [10.0, 11.3, 12.1, 13.0]


def test_what_was_missed_is_not_made_up_for() -> None:
    assert told_at([10.0, 13.7, 13.8, 14.0, 14.7]) == [10.0, 13.7, 14.7]
