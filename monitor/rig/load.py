"""From the rig file to a rig, or to all of its faults at once."""

import tomllib
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from monitor.rig.checks import Draft, checks
from monitor.rig.faults import Fault, RigFaults, shown
from monitor.rig.feed_tables import FEEDS, FeedSettings
from monitor.rig.model import About, Extra, Journal, Page, Pump, Rig, Supply, Warn
from monitor.rig.notice_tables import Notices
from monitor.rig.service_table import Service
from monitor.rig.tables import TABLE, Tables, unknown
from monitor.rig.tank_tables import LevelSignal, Tank
from monitor.rig.tow_table import Tow

LARGEST_FILE = 1_000_000
TABLES = ("rig", "tank", "supply", "pump", "extra", "warn", "feed", "journal", "page", "notices", "tow", "service")


def load(path: Path | str) -> Rig:
    """The rig of a file. Raises RigFaults with every fault found, also for a file that cannot be read."""
    file = Path(path)
    return parse(_text(file), file)


def parse(text: str, file: Path = Path("rig.toml"), replaced: Mapping[str, Any] | None = None) -> Rig:
    """The rig of a text; relative paths in it start at the folder of `file`. Raises RigFaults.

    `replaced`: tables that stand in for those of the text (the demo sets its own feed).
    """
    try:
        raw = tomllib.loads(text) | dict(replaced or {})
    except RecursionError:
        raise RigFaults(str(file), [Fault("", "", "brackets nested too deep", "TOML")]) from None
    except ValueError as error:
        raise RigFaults(str(file), [Fault("", "", f"a fault of form: {error}", "TOML")]) from None
    tables = Tables(file.parent)
    rig = _rig(tables, raw)
    if rig is None:
        raise RigFaults(str(file), tables.faults)
    return rig


def fairground() -> str:
    """The text of the demo's rig file."""
    return resources.files("monitor.rig").joinpath("fairground.toml").read_text("utf-8")


def _text(file: Path) -> str:
    try:
        with file.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
        if len(data) > LARGEST_FILE:
            raise RigFaults(str(file), [Fault("", "", f"more than {LARGEST_FILE:,} bytes", "a page of text")])
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise RigFaults(str(file), [Fault("", "", f"byte {error.start}, which is no UTF-8", "UTF-8 text")]) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise RigFaults(str(file), [Fault("", "", f"no way to read it ({why})", "a file that can be read")]) from None


def _rig(tables: Tables, raw: dict[str, Any]) -> Rig | None:
    """The rig, or None with faults noted."""
    for name in raw:
        if name not in TABLES:
            tables.faults.append(Fault("", f"[{name}]", "an unknown table", unknown(name, list(TABLES))))
    about = tables.one("[rig]", About, raw.get("rig", {}))
    levels = _levels(tables, raw.get("tank", {}))
    tank = _tank(tables, raw.get("tank", {}), levels)
    supply = tables.one("[supply]", Supply, raw["supply"]) if "supply" in raw else None
    pumps = _pumps(tables, raw.get("pump", []))
    extra = tables.one("[extra]", Extra, raw.get("extra", {}))
    warn = tables.one("[warn]", Warn, raw.get("warn", {}))
    feeds = _feeds(tables, raw.get("feed", []))
    journal = tables.one("[journal]", Journal, raw.get("journal", {}))
    page = tables.one("[page]", Page, raw.get("page", {}))
    notices = tables.one("[notices]", Notices, raw.get("notices", {}))
    tow = tables.one("[tow]", Tow, raw["tow"]) if "tow" in raw else None
    services = [tables.one(place, Service, each) for place, each in tables.places("service", raw.get("service", []))]
    tables.faults += checks(Draft(tank, levels, supply, pumps, extra, feeds, notices))
    if not (about and tank and extra and warn and journal and page and notices) or tables.faults:
        return None
    return Rig(
        about=about,
        tank=tank,
        supply=supply,
        pumps=tuple(pump for _, pump in pumps),
        extra=extra,
        warn=warn,
        feeds=tuple(feed for _, feed in feeds),
        journal=journal,
        page=page,
        notices=notices,
        tow=tow,
        services=tuple(service for service in services if service is not None),
    )


def _tank(tables: Tables, raw: Any, levels: list[tuple[str, LevelSignal]]) -> Tank | None:
    if isinstance(raw, dict):
        raw = raw | {"level": tuple(level for _, level in levels)}
    return tables.one("[tank]", Tank, raw, mended=True)


def _levels(tables: Tables, tank: Any) -> list[tuple[str, LevelSignal]]:
    raw = tank.get("level", []) if isinstance(tank, dict) else []
    if raw == []:
        tables.faults.append(Fault("[tank.level]", "", "nothing", "a level sensor: reading and measures"))
    placed = tables.places("tank.level", raw)
    read = [(place, tables.one(place, LevelSignal, each)) for place, each in placed]
    return [(place, level) for place, level in read if level is not None]


def _pumps(tables: Tables, raw: Any) -> list[tuple[str, Pump]]:
    pumps = []
    for number, (place, each) in enumerate(tables.places("pump", raw), 1):
        nameless = isinstance(each, dict) and "name" not in each
        pump = tables.one(place, Pump, each | {"name": f"Pump {number}"} if nameless else each)
        if pump is not None:
            pumps.append((place, pump))
            if nameless:
                pump.model_fields_set.discard("name")  # its number is a default like any other
    return pumps


def _feeds(tables: Tables, raw: Any) -> list[tuple[str, FeedSettings]]:
    if raw == []:
        tables.faults.append(Fault("[[feed]]", "", "nothing", f"a feed: one of {', '.join(FEEDS)}"))
    read = [(place, _feed(tables, place, each)) for place, each in tables.places("feed", raw)]
    return [(place, feed) for place, feed in read if feed is not None]


def _feed(tables: Tables, place: str, raw: Any) -> FeedSettings | None:
    kinds = [kind for kind in FEEDS if isinstance(raw, dict) and kind in raw]
    if len(kinds) == 1:
        return tables.one(place, FEEDS[kinds[0]], raw)  # type: ignore[return-value]
    found = " and ".join(kinds) or shown(raw)
    expected = f"exactly one of {', '.join(FEEDS)}" if isinstance(raw, dict) else TABLE
    tables.faults.append(Fault(place, "", found, expected))
    return None
