"""The permit: a counter that goes on for as long as an owner's relay node may let pumps run.

It only ever stops by itself. Once stopped, at the daemon's start too, it stays stopped until a person resets it at the
rig with all triggers shut: a machine never restarts by itself. It is no safety device, and the relay node has to hold
to the same rule on its own side.
"""

from typing import Literal, NamedTuple

from monitor.alarms.lifecycle import State

Why = Literal["start", "dry", "dry-soon", "level", "broker", "stalled", "triggers", "off"]

UNTRUSTED_S = 30.0
SILENT_S = 3.0
"""A counter that was not heard for so long has stopped for its relay: it must not go on as if nothing had been."""

_SAID: dict[str, dict[Why, str]] = {
    "en": {
        "start": "The daemon has just started.",
        "dry": "The tank is dry.",
        "dry-soon": "The warning that the tank will soon be dry was not answered.",
        "level": "The level is not to be trusted.",
        "broker": "The broker could not be reached.",
        "stalled": "The daemon stood still.",
        "triggers": "A pump draws, or may be drawing.",
        "off": "No permit is published here.",
    },
    "es": {
        "start": "El programa acaba de arrancar.",
        "dry": "El tanque está seco.",
        "dry-soon": "Nadie respondió al aviso de que el tanque pronto estará seco.",
        "level": "El nivel no es de fiar.",
        "broker": "No se pudo llegar al servidor MQTT.",
        "stalled": "El programa estuvo parado.",
        "triggers": "Una bomba saca agua, o puede que la saque.",
        "off": "Aquí no se publica ningún permiso.",
    },
}
_DO = {
    "en": "Shut every trigger and see to the cause; then reset the permit, standing at the rig.",
    "es": "Cierre todos los gatillos y atienda la causa; luego reponga el permiso, junto al equipo.",
}
_TURN_ON = {
    "en": "The owner can turn it on: permit under [notices] in the rig file.",
    "es": "El dueño puede activarlo: permit bajo [notices] en el archivo del equipo.",
}


class Seen(NamedTuple):
    """What the permit depends on, as of now."""

    dry: State
    dry_soon: State
    level_trusted: bool
    connected: bool
    answer_s: float
    """How long a warning may stand unanswered: half the act time."""


class Permit:
    """`look` once a second. Times are real seconds that never fall."""

    def __init__(self) -> None:
        self.count = 0
        self.stopped: Why | None = "start"
        self._since: dict[Why, float] = {}
        self._looked_s: float | None = None

    def __repr__(self) -> str:
        return f"<Permit {self.count}{f', stopped: {self.stopped}' if self.stopped else ''}>"

    def look(self, now_s: float, seen: Seen) -> int | None:
        """The count to publish now; None while it is stopped."""
        self._note(now_s, seen)
        limits: dict[Why, float] = {
            "dry": 0.0, "dry-soon": seen.answer_s, "level": UNTRUSTED_S, "broker": SILENT_S, "stalled": 0.0,
        }  # fmt: skip
        due = (why for why, limit_s in limits.items() if why in self._since and now_s - self._since[why] >= limit_s)
        self.stopped = self.stopped or next(due, None)
        if self.stopped:
            return None
        self.count += 1
        return self.count

    def reset(self, triggers_shut: bool) -> Why | None:
        """A person lets it go on; why it does not, where something stands against it."""
        against: Why | None = None if triggers_shut else "triggers"
        against = next(iter(self._since), against)
        if against is None:
            self.stopped = None
        return against

    def _note(self, now_s: float, seen: Seen) -> None:
        stalled = self._looked_s is not None and now_s - self._looked_s > SILENT_S
        self._looked_s = now_s
        holds: dict[Why, bool] = {
            "dry": seen.dry in ("unacknowledged", "acknowledged"),
            "dry-soon": seen.dry_soon == "unacknowledged",
            "level": not seen.level_trusted,
            "broker": not seen.connected,
            "stalled": stalled,
        }
        for why, stands in holds.items():
            if stands:
                self._since.setdefault(why, now_s)
            else:
                self._since.pop(why, None)


def said(why: Why, language: Literal["en", "es"]) -> tuple[str, str]:
    """Why the permit is stopped, and what to do."""
    return _SAID[language][why], (_TURN_ON if why == "off" else _DO)[language]
