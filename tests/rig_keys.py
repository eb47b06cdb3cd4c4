"""Writes firmware_notes/rig_keys.md, every key of the rig file, from the tables the program itself reads with.

    PYTHONPATH=. python tests/rig_keys.py
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic_core import PydanticUndefined

from monitor.rig.feed_tables import ModbusFeed as Modbus
from monitor.rig.feed_tables import MqttFeed, RecordedFeed, SerialFeed, SimulatedFeed
from monitor.rig.hose_tables import Hose
from monitor.rig.injector_table import Injector
from monitor.rig.kinds import Table
from monitor.rig.load import TABLES
from monitor.rig.map_tables import MapTable, RegisterTable
from monitor.rig.model import About, Bypass, Extra, FloatValve, Journal, Page, Pump, Signal, Supply, Warn
from monitor.rig.notice_tables import Notices, Output
from monitor.rig.service_table import Service
from monitor.rig.shape import _TABLES as SHAPES
from monitor.rig.tank_tables import LevelSignal, Outlet, Tank
from monitor.rig.tow_table import Tow

PAGE = Path(__file__).parents[1] / "firmware_notes" / "rig_keys.md"
LISTED: tuple[tuple[str, type[Table]], ...] = (
    ("[rig]", About), ("[tank]", Tank), ("[tank] outlet", Outlet), ("[tank.level]", LevelSignal),
    ("[supply]", Supply),
    ("[supply] float_valve", FloatValve), ("[[pump]]", Pump), ("[[pump]] running, drawing", Signal),
    ("[[pump]] bypass", Bypass), ("[[pump]] hose", Hose), ("[[pump]] injector", Injector),
    ("[extra]", Extra), ("[warn]", Warn),
    ("[[feed]] mqtt", MqttFeed), ("[[feed.map]]", MapTable), ("[[feed]] serial", SerialFeed),
    ("[[feed]] modbus", Modbus), ("[[feed.register]]", RegisterTable), ("[[feed]] simulated", SimulatedFeed),
    ("[[feed]] recorded", RecordedFeed), ("[journal]", Journal), ("[page]", Page),
    ("[tow]", Tow), ("[[service]]", Service), ("[notices]", Notices),
    ("[notices] horn, strobe", Output),
)  # fmt: skip
MEANT = {
    ("[tank]", "full"): "where filling should have stopped",
    ("[tank]", "heel"): "what lies below the outlet's reach: pumps draw air there",
    ("[tank]", "band"): "where the crew wants the water while working",
    ("[tank]", "tow_limit"): "the most water to tow with",
    ("[tank]", "shape"): "this, or `strapping`",
    ("[tank]", "strapping"): "this, or `shape`; fill and strap writes it",
    ("[tank.level]", "zero"): "where a distance is counted from; needed with distance",
    ("[tank.level]", "offset"): "added to every height; a pressure sensor's height over the floor",
    ("[tank.level]", "scale"): "two-point level writes it",
    ("[tank.level]", "range"): "needed with current; may fall",
    ("[tank.level]", "absolute"): "needs a barometer in `[extra]`",
    ("[tank.level]", "assumes"): "an echo sensor that reckons with a fixed temperature; needs air_temperature",
    ("[tank.level]", "ahead"): "with a slope reading, takes a trailer's tilt out; behind is negative",
    ("[supply]", "k_factor"): "needed with pulses; the bucket test sets it right",
    ("[supply]", "meter_factor"): "for totals and rates; the bucket test writes it",
    ("[[pump]]", "draw"): "what it takes with the trigger open; the draw test writes it",
    ("[[pump]]", "running"): "engine or clutch on; left out: inferred",
    ("[[pump]]", "drawing"): "water really leaves: a flow switch past the unloader; left out: inferred",
    ("[[pump]] injector", "draws"): "left out: a draw-down on the chemical page tells it",
    ("[warn]", "act_time"): "what the crew needs to shut down in an orderly way",
    ("[notices]", "permit"): "a counter for a relay that lets pumps run; it advises and is no safety device",
}


def page() -> str:
    """The whole page."""
    parts = [HEAD, *(section(place, table) for place, table in LISTED), "## Shapes of a tank\n", *shapes()]
    return "\n".join(parts).rstrip() + "\n"


def section(place: str, table: type[Table]) -> str:
    rows = [row(place, name, field) for name, field in table.model_fields.items()]
    return "\n".join([f"## `{place}`\n", "| key | what it takes | left out | |", "|---|---|---|---|", *rows, ""])


def row(place: str, name: str, field: Any) -> str:
    key = field.alias or name
    takes = (field.description or "see below").replace("|", "\\|")
    return f"| `{key}` | {takes} | {left_out(place, field)} | {MEANT.get((place, key), '')} |"


def left_out(place: str, field: Any) -> str:
    if field.is_required():
        return "must stand"
    if field.default is PydanticUndefined or isinstance(field.default, Table):
        return "worked out"
    if field.default is None or field.default == ():
        return "none"
    if isinstance(field.default, bool):
        return str(field.default).lower()
    if isinstance(field.default, float) and field.alias and field.alias not in ("scale", "add", "meter_factor"):
        return f"{field.default:.4g}{UNIT_OF.get(field.alias, '')}"
    return f"{field.default:g}" if isinstance(field.default, float) else str(field.default)


UNIT_OF = {"offset": " m", "ahead": " m", "height": " m", "draw": " l/min", "act_time": " s", "every": " s"}


def shapes() -> Iterator[str]:
    yield "| `kind` | its sizes, lengths unless said otherwise |"
    yield "|---|---|"
    for kind, table in SHAPES.items():
        keys = [f"`{field.alias or name}`{'' if field.is_required() else ' (may be left out)'}"
                for name, field in table.model_fields.items()]  # fmt: skip
        yield f"| `{kind}` | {', '.join(keys)} |"


HEAD = f"""# Every key of the rig file

This page is written by `tests/rig_keys.py` from the tables the program reads with, and a test holds it to them.
Quantities carry their unit (`"7 gpm"`, `"320 gal"`, `"66 in"`); a wrong file is refused with all its faults at once.
What stands below as *must stand* has no default; `holdwater check` says which defaults were taken.

Tables: {", ".join(f"`{name}`" for name in TABLES)}.
"""

if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
