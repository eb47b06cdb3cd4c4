"""Scenarios: small TOML files that name a rig and say how the day goes, read into the settings of a world."""

import tomllib
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

from simulated_feeds.units import BadScenario, amount, clock_s

Table = Mapping[str, Any]
KEYS = {
    "title", "rig", "begins", "hours", "seed", "water", "tank", "tap", "place", "weather", "crew", "hand", "chemical",
    "sensor", "node", "fault", "by_hand", "act", "expect",
}
ALARMS = (
    "dry", "dry-soon", "pump-starved", "water-low", "supply-lost", "overfill", "level-signal", "supply-signal",
    "node-lost", "bypass-hot", "draw-low", "draw-high", "leak", "tow-heavy", "freeze", "journal",
)


class MustRaise(NamedTuple):
    """An alarm that has to be raised, and the span of the story, in s, in which it first has to be."""

    alarm: str
    after_s: float
    before_s: float


class Expect(NamedTuple):
    """What has to be raised and what must never be; any other alarm may be."""

    must: tuple[MustRaise, ...] = ()
    must_not: tuple[str, ...] = ()


class Scenario(NamedTuple):
    """A day to be played. `tables` is the scenario as written, `rig` the rig file it names."""

    name: str
    title: str
    seed: int
    begins_s: float
    hours: float
    rig_toml: str
    rig: Table
    tables: Table
    expect: Expect


def scenario_names() -> list[str]:
    """The scenarios that come with the program."""
    folder = resources.files("simulated_feeds") / "scenarios"
    return sorted(file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml"))


def load_scenario(name_or_path: str | Path) -> Scenario:
    """Reads a scenario by its name or from a file of one's own. Raises BadScenario."""
    path = Path(name_or_path)
    if path.suffix == ".toml":
        if not path.is_file():
            raise BadScenario(f"no scenario file {path}: check the path, or leave off .toml to play one by name")
        return read_scenario(path.stem, path.read_text(encoding="utf-8"), path.parent)
    if str(name_or_path) not in scenario_names():
        raise BadScenario(f'no scenario "{name_or_path}": expected a file, or one of {", ".join(scenario_names())}')
    file = resources.files("simulated_feeds") / "scenarios" / f"{name_or_path}.toml"
    return read_scenario(str(name_or_path), file.read_text(encoding="utf-8"))


def read_scenario(name: str, text: str, folder: Path | None = None) -> Scenario:
    """A scenario from its text; its rig is looked for beside it, then among those that come with the program."""
    tables = _parse(text, f"scenario {name}")
    return make_scenario(name, tables, _rig_text(str(tables.get("rig", "fairground")), folder))


def make_scenario(name: str, tables: Table, rig_toml: str) -> Scenario:
    """A scenario from its tables and the text of its rig file."""
    unknown = set(tables) - KEYS
    if unknown:
        found, expected = ", ".join(sorted(unknown)), ", ".join(sorted(KEYS))
        raise BadScenario(f"scenario {name}: found {found}, expected only {expected}")
    return Scenario(
        name=name,
        title=str(tables.get("title", name)),
        seed=int(tables.get("seed", 1)),
        begins_s=clock_s(str(tables.get("begins", "08:00")), "begins"),
        hours=float(tables.get("hours", 8)),
        rig_toml=rig_toml,
        rig=_parse(rig_toml, "the rig file"),
        tables=tables,
        expect=_expect(tables.get("expect", {})),
    )


def _rig_text(rig: str, folder: Path | None) -> str:
    beside = None if folder is None else folder / f"{rig}.toml"
    if beside is not None and beside.is_file() and _is_rig(text := beside.read_text(encoding="utf-8"), str(beside)):
        return text
    file = resources.files("simulated_feeds") / "rigs" / f"{rig}.toml"
    if not file.is_file():
        raise BadScenario(f'rig: found "{rig}", expected the name of a file in simulated_feeds/rigs or beside this one')
    return file.read_text(encoding="utf-8")


def _is_rig(text: str, what: str) -> bool:
    """A scenario may bear a rig's name; only a rig says how its level is measured."""
    return "level" in _parse(text, what).get("tank", {})


def _parse(text: str, what: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadScenario(f"{what} is no TOML: {error}") from None


def _expect(table: Table) -> Expect:
    must = []
    for row in table.get("must", []):
        low_s, high_s = (amount(end, "[expect] between", "time") for end in row.get("between", ["0 s", "24 h"]))
        if low_s >= high_s:
            found = " and ".join(map(str, row["between"]))
            raise BadScenario(f"[expect] {row['alarm']} between: found {found}, expected the earlier time first")
        must.append(MustRaise(row["alarm"], low_s, high_s))
    may = [*table.get("may", []), *(row.alarm for row in must)]
    must_not = table.get("must_not", "the rest")
    forbidden = [alarm for alarm in ALARMS if alarm not in may] if must_not == "the rest" else must_not
    for alarm in [*may, *forbidden]:
        if alarm not in ALARMS:
            raise BadScenario(f'[expect]: found "{alarm}", expected one of {", ".join(ALARMS)}')
    return Expect(tuple(must), tuple(forbidden))
