"""Horn and strobe: the primary alarm for people a hose away in ear defenders.

They are blown by what stands on the alarm board, in the rhythms of ``alarms/attention.py``, from work of their own
beside the deciding loop: neither holds the other up. Where nothing has been decided for seconds they call as well.
Beside a simulated or recorded feed there is no horn at all: practice must not teach anybody to ignore it.
"""

import math
from collections.abc import Callable, Mapping
from typing import Literal

from monitor.alarms.attention import Call, call, shines, sounds
from monitor.alarms.board import Board
from monitor.feeds.feed import CLOSED, NOT_STARTED, FeedStatus, Trouble
from monitor.notices.mqtt_out import MqttOut
from monitor.notices.relays import OpenLine, Relays, open_line, relays_of
from monitor.rig.model import Rig
from monitor.worker import Hire, Steps, Thread

STEP_S = 0.05
AGAIN_S = 1.0
"""Relays are told so often how to stand, changed or not: one that was unplugged is noticed."""
RETRY_S = 2.0
SILENT_S = 5.0
TEST_S = 3.0

Refusal = Literal["no horn", "practice"]
_SAID: dict[str, dict[Refusal, tuple[str, str]]] = {
    "en": {
        "no horn": ("No horn was blown: the rig file names none.", "Name one: horn under [notices] in the rig file."),
        "practice": (
            "No horn was blown: the readings are not those of a real rig.",
            "Test it with the rig's own feeds; in practice the horn stays silent.",
        ),
    },
    "es": {
        "no horn": (
            "No sonó ninguna bocina: el archivo del equipo no nombra ninguna.",
            "Nómbrela: horn bajo [notices] en el archivo del equipo.",
        ),
        "practice": (
            "No sonó ninguna bocina: las lecturas no son de un equipo real.",
            "Pruébela con las señales propias del equipo; en las prácticas la bocina calla.",
        ),
    },
}


class Horn:
    """`hear` in every deciding round; the rest goes on by itself. `status` says in words what is in the way."""

    name = "horn"

    def __init__(self, relays: list[Relays], monotonic: Callable[[], float], hire: Hire = Thread) -> None:
        self._relays, self._monotonic = relays, monotonic
        self._troubles: dict[int, Trouble | None] = dict.fromkeys(range(len(relays)), NOT_STARTED)
        self._asked: Call = ""
        self._heard_s = math.inf
        self._test_until_s = -math.inf
        self._tested: Call = "release"
        self._worker = hire(self.name, self._steps)

    def start(self) -> None:
        self._worker.start()

    def close(self) -> None:
        self._worker.close()
        self._troubles = dict.fromkeys(self._troubles, CLOSED)

    def status(self) -> FeedStatus:
        trouble = next((each for each in self._troubles.values() if each is not None), None)
        why, do = trouble or ("", "")
        return FeedStatus(self.name, trouble is None, why, do, 0, 0)

    def hear(self, now_s: float, board: Board, moving: bool) -> None:
        """What stands, as of now (real seconds that never fall)."""
        asked, self._heard_s = call(board.states(), moving), now_s
        if asked != self._asked:
            self._asked = asked
            self._worker.wake()

    def test(self, pattern: Call = "release") -> None:
        """One pattern for a moment; unless another is asked for, the one that means *let go of the triggers*."""
        self._tested, self._test_until_s = pattern, self._monotonic() + TEST_S
        self._worker.wake()

    # -- beside the deciding loop -----------------------------------------------------------------------------

    def _steps(self) -> Steps:
        now: Call = ""
        since_s, told_s = self._monotonic(), -math.inf
        stood: dict[str, bool] = {}
        retry_s = dict.fromkeys(self._troubles, -math.inf)
        try:
            while True:
                at_s = self._monotonic()
                due = self._due(at_s)
                if due != now:
                    now, since_s = due, at_s
                on = {"horn": sounds(at_s - since_s, now), "strobe": shines(at_s - since_s, now)}
                if on != stood or at_s - told_s >= AGAIN_S:
                    stood, told_s = on, at_s
                    self._put(at_s, on, retry_s)
                yield STEP_S if now else AGAIN_S / 2
        finally:
            for relays in self._relays:
                relays.close()

    def _due(self, at_s: float) -> Call:
        if self._asked == "release":
            return "release"
        if at_s < self._test_until_s:
            return self._tested
        if at_s - self._heard_s > SILENT_S:  # nobody decides any more: that calls for somebody to look
            return "high"
        return self._asked

    def _put(self, at_s: float, on: Mapping[str, bool], retry_s: dict[int, float]) -> None:
        for k, relays in enumerate(self._relays):
            if at_s < retry_s[k]:
                continue
            self._troubles[k] = relays.put(dict(on))
            if self._troubles[k] is not None:
                retry_s[k] = at_s + RETRY_S


def horn_of(
    rig: Rig,
    out: MqttOut | None,
    monotonic: Callable[[], float],
    hire: Hire = Thread,
    open_line: OpenLine = open_line,
) -> Horn | None:
    """The rig's horn and strobe; None where it has none, and beside any feed that is not the rig's own."""
    outputs = dict(rig.notices.outputs)
    if not outputs or refusal(rig) == "practice":
        return None
    return Horn(relays_of(outputs, out, open_line), monotonic, hire)


def refusal(rig: Rig) -> Refusal | None:
    """Why a test would blow nothing."""
    if any(feed.kind in ("simulated", "recorded") for feed in rig.feeds):
        return "practice"
    return None if rig.notices.outputs else "no horn"


def said(why: Refusal, language: Literal["en", "es"]) -> tuple[str, str]:
    """Why no horn was blown, and what to do."""
    return _SAID[language][why]
