"""Every alarm, rationalised: how urgent, how long there is, how it settles, what quietens it, what it may follow.

The one place that pages, guide and tests take their alarms from; the words stand in ``words_en`` and ``words_es``.
States and terms follow ANSI/ISA-18.2-2016 / IEC 62682. Deadbands belong to the rules that judge the conditions.

Delays. ISA-18.2 suggests to begin at about 15 s for a flow and 60 s for a level or a temperature (from memory), and to
better it per alarm; here a signal's own tests already take their time, so most on-delays are shorter. Critical alarms
have none. A follower waits longer than the alarms it may follow, so that the cause gets its say first.
Times to respond are this project's own judgement (common practice, no published source).
"""

from collections.abc import Mapping
from typing import Literal, NamedTuple, get_args

AlarmName = Literal[
    "dry", "dry-soon", "pump-starved", "water-low", "supply-lost", "overfill", "level-signal", "supply-signal",
    "node-lost", "bypass-hot", "draw-low", "draw-high", "leak", "tow-heavy", "freeze", "journal",
]  # fmt: skip
Priority = Literal["critical", "high", "medium", "low"]
Kind = Literal["", "pump", "signal", "node"]
Mode = Literal["towing", "packing up", "float valve shut", "dumping", "filling past the meter", "laid up"]

PRIORITIES: tuple[Priority, ...] = get_args(Priority)
MODES: tuple[Mode, ...] = get_args(Mode)

MINUTE_S = 60.0
HOUR_S = 3600.0


class Follows(NamedTuple):
    """An alarm may be listed under `cause`."""

    cause: AlarmName
    same: Literal["", "pump", "node"] = ""
    """What the two must have in common; a side that doesn't name its pump matches any pump."""
    variants: frozenset[str] = frozenset()
    """Only in these variants; empty for any."""


class Alarm(NamedTuple):
    name: AlarmName
    priority: Priority
    respond_s: float
    """The time there is to respond, where the condition brings none of its own."""
    kind: Kind = ""
    """What the subject of an instance is; an instance may go without (a pump nobody can name)."""
    on_delay_s: float = 0.0
    off_delay_s: float = 0.0
    shelve_max_s: float = 0.0
    """The longest shelving; 0: never."""
    quiet_when: frozenset[Mode] = frozenset()
    """Suppressed by design while the rig is in one of these."""
    follows: tuple[Follows, ...] = ()
    cautions: tuple[str, ...] = ()
    """Keys of the cautions shown beside what to do."""

    @property
    def critical(self) -> bool:
        return self.priority == "critical"


_SILENT = frozenset({"", "missing", "never heard"})
_DOUBTFUL = frozenset({"frozen", "contradicts"})
_AT_WORK = ("engine-off", "hot-parts", "makers")


def _critical(name: AlarmName, respond_s: float, kind: Kind, off_delay_s: float, *cautions: str) -> Alarm:
    return Alarm(name, "critical", respond_s, kind, off_delay_s=off_delay_s, cautions=cautions)


def _other(
    name: AlarmName,
    priority: Priority,
    respond_s: float,
    kind: Kind = "",
    *,
    on_s: float = 0.0,
    off_s: float,
    shelve_max_s: float | None = None,
    quiet_when: tuple[Mode, ...] = (),
    follows: tuple[Follows, ...] = (),
    cautions: tuple[str, ...] = (),
) -> Alarm:
    """An alarm below critical: may be shelved for an hour (high) or a working day, and is quiet while laid up."""
    longest_s = (HOUR_S if priority == "high" else 8 * HOUR_S) if shelve_max_s is None else shelve_max_s
    quiet = frozenset[Mode]({"laid up", *quiet_when})
    return Alarm(name, priority, respond_s, kind, on_s, off_s, longest_s, quiet, follows, cautions)


ALARMS: Mapping[AlarmName, Alarm] = {
    alarm.name: alarm
    for alarm in (
        _critical("dry", 10.0, "pump", 10.0, "aim", "injection", *_AT_WORK, "tank"),
        _critical("dry-soon", 2 * MINUTE_S, "", 30.0, "aim", "injection", "tank"),
        _critical("pump-starved", 30.0, "pump", 15.0, "aim", "injection", *_AT_WORK, "tank"),
        _other(
            "water-low", "high", 10 * MINUTE_S, on_s=15.0, off_s=60.0,
            quiet_when=("towing", "packing up"),
            follows=(Follows("dry"), Follows("dry-soon")),
            cautions=("backflow",),
        ),
        _other(
            "supply-lost", "high", 10 * MINUTE_S, on_s=5.0, off_s=15.0,
            quiet_when=("float valve shut", "towing", "packing up", "filling past the meter"),
            follows=(Follows("node-lost", "node"), Follows("supply-signal")),
            cautions=("backflow", "tank"),
        ),
        _other(
            "overfill", "high", 3 * MINUTE_S, on_s=5.0, off_s=30.0, shelve_max_s=10 * MINUTE_S,
            quiet_when=("towing",),
            cautions=("backflow", "tow", "tank"),
        ),
        _other(
            "level-signal", "high", 5 * MINUTE_S, "signal", on_s=3.0, off_s=8.0,
            follows=(Follows("node-lost", "node", _SILENT), Follows("pump-starved", variants=_DOUBTFUL)),
            cautions=("tank",),
        ),
        _other(
            "supply-signal", "high", 15 * MINUTE_S, "signal", on_s=3.0, off_s=8.0,
            follows=(Follows("node-lost", "node", _SILENT),),
            cautions=("backflow", "tank"),
        ),
        _other("node-lost", "high", 5 * MINUTE_S, "node", off_s=10.0, cautions=("tank",)),
        _other(
            "bypass-hot", "high", 30.0, "pump", off_s=10.0, shelve_max_s=10 * MINUTE_S,
            cautions=("scalding", "aim", "injection", *_AT_WORK),
        ),
        _other(
            "draw-low", "high", 15 * MINUTE_S, "pump", on_s=60.0, off_s=120.0,
            follows=(Follows("dry", "pump"), Follows("pump-starved", "pump"), Follows("level-signal"),
                     Follows("supply-signal")),
            cautions=("injection", *_AT_WORK),
        ),
        _other(
            "leak", "medium", 15 * MINUTE_S, on_s=60.0, off_s=60.0,
            quiet_when=("towing", "dumping"),
            cautions=("injection", "engine-off", "chemicals", "tank"),
        ),
        _other("tow-heavy", "medium", 5 * MINUTE_S, on_s=5.0, off_s=30.0, cautions=("driver", "tow")),
        _other(
            "freeze", "medium", 30 * MINUTE_S, "signal", on_s=60.0, off_s=10 * MINUTE_S,
            cautions=("engine-off", "carbon-monoxide", "chemicals", "makers"),
        ),
        _other(
            "draw-high", "low", HOUR_S, "pump", on_s=60.0, off_s=120.0,
            follows=(Follows("level-signal"), Follows("supply-signal")),
            cautions=("injection", *_AT_WORK),
        ),
        _other("journal", "low", 4 * HOUR_S, off_s=30.0),
    )
}  # fmt: skip
