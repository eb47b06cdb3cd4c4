"""A daemon for practice: a simulated day with a drill in it. It has no horn, no permit and tells no broker anything."""

from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path
from typing import Any

from monitor.changes import AlarmChange, Change
from monitor.daemon import Daemon
from monitor.drills.attempt import Attempt
from monitor.drills.catalogue import DRILLS
from monitor.rig.load import parse
from monitor.rig.model import Rig

BEFORE = "fairground"
"""What is played while no drill is chosen yet."""
PUMPS = {"front": "Front", "back": "Back"}
ACTS = {"acknowledge": "got-it", "soaping": "soaping"}


def practice_rig(text: str, scenario: str, listen: str, folder: Path, speed: float, language: str | None) -> Rig:
    """The scenario's rig with a simulated feed for all feeds, no notices at all, and a journal that goes with it."""
    feed = {"simulated": scenario, "speed": speed, "seed": 1}
    replaced: dict[str, Any] = {"feed": [feed], "page": {"listen": listen}, "journal": {}, "notices": {}}
    rig = parse(text, folder / "rig.toml", replaced=replaced)
    if language is None:
        return rig
    return rig.model_copy(update={"about": rig.about.model_copy(update={"language": language})})


class PracticeDaemon(Daemon):
    """The daemon as it is, and beside it an attempt at a drill. `chosen`: the drill to go on with, once this ended."""

    def __init__(self, rig: Rig, drill: str | None) -> None:
        super().__init__(rig)
        assert self.horn is None
        assert self.telling is None
        self.attempt = Attempt(None if drill is None else DRILLS[drill])
        self.practice = self
        self.chosen: str | None = None

    def state(self) -> dict[str, Any]:
        return super().state() | {"practice": self.attempt.standing()}

    def act(self, act: str, by: str, alarm: str | None, detail: dict[str, Any]) -> None:
        super().act(act, by, alarm, detail)
        if act in ACTS:
            self.attempt.note(self.clock.now(), f"did:{ACTS[act]}")

    def choose(self, drill: str) -> None:
        """Ends this day, so that the command begins the drill's own. Raises LookupError for one there is not."""
        self.chosen = DRILLS[drill].name
        self.stop()

    def do(self, hand: str) -> Future[None] | None:
        """Does in the world what the new hand does. Raises LookupError where this drill has no such thing."""
        if self.attempt.drill is None or hand not in self.attempt.drill.hands or self.bench is None:
            raise LookupError(hand)
        self.attempt.note(self.clock.now(), f"did:{hand}")
        verb, _, of = hand.partition("-")
        ways: dict[str, Callable[[], Future[None]]] = {
            "release": lambda: self._hand("trigger", pump=PUMPS[of], on=False),
            "open": lambda: self._hand("trigger", pump=PUMPS[of], on=True),
            "stop": lambda: self._hand("engine", pump=PUMPS[of], on=False),
            "make": lambda: self._hand("engine", pump="Front", on=False),
            "walk": lambda: self._lift("tap-shut"),
        }
        return ways[verb]() if verb in ways else None

    def _hand(self, what: str, **how: Any) -> Future[None]:
        assert self.bench is not None
        return self.bench.world.hand(what, how)

    def _lift(self, fault: str) -> Future[None]:
        assert self.bench is not None
        return self.bench.world.fault(fault, False, {})

    def _tell(self, changes: list[Change]) -> None:
        super()._tell(changes)
        for change in changes:
            if isinstance(change, AlarmChange) and change.state == "unacknowledged":
                self.attempt.note(change.at, f"alarm:{change.alarm}")
        if self.core.now is not None and self.core.balance.belief is not None:
            if all(pump.state not in ("draws", "unknown") for pump in self.core.pumps):
                self._note_once("did:both-shut")
            self.attempt.tick(self.core.now)

    def _note_once(self, what: str) -> None:
        """Both guns shut, after the first alarm: before it nobody had a reason to."""
        called = any(each.startswith("alarm:") for _, each in self.attempt.log)
        if called and all(each != what for _, each in self.attempt.log):
            self.attempt.note(self.clock.now(), what)
