"""The house rules as a test: imports point down, pure modules touch no world, the README cannot rot."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from monitor.cli import main

HOME = Path(__file__).parents[1]

# the table in DEVELOPERS.md: rooms and single modules of monitor, from the ground up
LAYERS = (
    ("quantities", "readings", "changes"),
    ("tank", "balance", "forecast", "alarms", "planning", "calibration", "drills"),
    ("rig", "wire"),
    ("core",),
    ("feeds", "journal", "pages", "notices", "state_file", "computer", "worker", "machine", "faults", "sparing",
     "rounds"),
    ("daemon", "replay", "practice"),
    ("commands", "cli", "__main__"),
)
LAYER = {room: height for height, rooms in enumerate(LAYERS) for room in rooms}
APART = frozenset(LAYERS[1])  # rooms that do not import each other
PURE = frozenset({*LAYERS[0], *LAYERS[1], "wire", "core"})
PURE_MAY_IMPORT = frozenset({
    "__future__", "array", "bisect", "collections", "contextlib", "dataclasses", "enum", "functools", "itertools",
    "json", "math", "monitor", "msgspec", "operator", "random", "re", "statistics", "string", "struct", "typing",
    "unicodedata",
})  # fmt: skip
WORLDLY = frozenset({"open", "print", "input", "exec", "eval", "__import__", "breakpoint"})
# who may import simulated_feeds
MEETS_THE_WORLD = frozenset({
    "monitor/feeds/simulated.py", "monitor/commands/watching.py", "monitor/commands/practising.py",
})  # fmt: skip
MOST_LINES = 400


class Import(NamedTuple):
    """One import statement: the whole dotted module, and the names taken from it."""

    module: str
    names: tuple[str, ...]
    line: int


def imports(text: str) -> Iterator[Import]:
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(alias.name, (), node.lineno)
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, "the house imports by full names"
            yield Import(node.module or "", tuple(alias.name for alias in node.names), node.lineno)


def rooms_of(import_: Import) -> list[str]:
    """The rooms of monitor that an import reaches; `from monitor import x` reaches x."""
    top, *rest = import_.module.split(".")
    if top != "monitor":
        return []
    return rest[:1] or [name for name in import_.names if name in LAYER]


def arrows_up(room: str, text: str) -> list[str]:
    """Imports of a module of `room` that run up, or into a neighbour of layer 1."""
    wrong = []
    for found in imports(text):
        for other in rooms_of(found):
            if other not in LAYER:
                wrong.append(f"line {found.line}: {other} has no layer")
            elif LAYER[other] > LAYER[room] or (other != room and {other, room} <= APART):
                wrong.append(f"line {found.line}: {room} imports {other}")
    return wrong


def touches_the_world(text: str) -> list[str]:
    """What a pure module may not do: import I/O or a clock, share a random state, ask for the time, open a file."""
    wrong = []
    for found in imports(text):
        if found.module.partition(".")[0] not in PURE_MAY_IMPORT:
            wrong.append(f"line {found.line}: imports {found.module}")
        if found.module == "random" and found.names != ("Random",):
            wrong.append(f"line {found.line}: takes more of random than Random, which shares a state")
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        attribute = node.func.attr if isinstance(node.func, ast.Attribute) else ""
        if name in WORLDLY or (attribute in ("now", "today", "utcnow") and _of_datetime(node.func)):
            wrong.append(f"line {node.lineno}: calls {name or attribute}")
        if name == "Random" and not node.args:
            wrong.append(f"line {node.lineno}: Random without a seed")
    return wrong


def _of_datetime(func: ast.expr) -> bool:
    return isinstance(func, ast.Attribute) and ast.unparse(func.value).split(".")[-1] in ("datetime", "date")


def sources(package: str) -> list[Path]:
    return sorted((HOME / package).rglob("*.py"))


def named(path: Path) -> str:
    return path.relative_to(HOME).as_posix()


def room_of(path: Path) -> str:
    first = path.relative_to(HOME / "monitor").parts[0]
    return first.removesuffix(".py")


MONITOR = [path for path in sources("monitor") if room_of(path) != "__init__"]
WORLD = sources("simulated_feeds")


@pytest.mark.parametrize("path", MONITOR, ids=named)
def test_imports_point_down(path):
    assert room_of(path) in LAYER, "a new room needs its place in DEVELOPERS.md and in LAYERS"
    assert arrows_up(room_of(path), path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", [path for path in MONITOR if room_of(path) in PURE], ids=named)
def test_pure_modules_touch_no_world(path):
    assert touches_the_world(path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", [*sources("monitor"), *WORLD], ids=named)
def test_the_world_and_its_watcher_share_nothing(path):
    for found in imports(path.read_text("utf-8")):
        top = found.module.partition(".")[0]
        if path in WORLD:
            assert top != "monitor", f"line {found.line}"
        elif named(path) not in MEETS_THE_WORLD:
            assert top != "simulated_feeds", f"line {found.line}"


def texts() -> list[Path]:
    pages = [path for end in ("js", "css", "html") for path in sorted((HOME / "dashboards").rglob(f"*.{end}"))]
    return [*sources("monitor"), *WORLD, *pages]


@pytest.mark.parametrize("path", texts(), ids=named)
def test_a_file_has_one_purpose_and_so_an_end(path):
    assert len(path.read_text("utf-8").splitlines()) <= MOST_LINES


# -- the developers' table and the README ---------------------------------------------------------------------------


def test_the_developers_table_names_every_room():
    table = [line for line in (HOME / "DEVELOPERS.md").read_text("utf-8").splitlines() if re.match(r"\| \d \|", line)]
    assert len(table) == len(LAYERS)
    for height, line in enumerate(table):
        assert line.startswith(f"| {height} |")
        for room in LAYERS[height]:
            there = (HOME / "monitor" / room).is_dir() or (HOME / "monitor" / f"{room}.py").is_file()
            assert not there or room == "__main__" or room in line, f"{room} is missing in layer {height}"


README = (HOME / "README.md").read_text("utf-8")


def commands_in(text: str) -> Iterator[tuple[str, list[str]]]:
    """Each `holdwater COMMAND` of a text with the options on the same line."""
    for line in text.splitlines():
        for command in re.findall(r"(?:^|[`\s])holdwater ([a-z]+)", line):
            yield command, re.findall(r"(?<![\w-])--[a-z][\w-]*", line)


def options_of(command: str) -> set[str]:
    return {option for param in main.commands[command].params for option in param.opts}


def test_the_readme_says_nothing_the_command_line_does_not_know():
    for command, options in commands_in(README):
        assert command in main.commands, f"holdwater {command}"
        assert set(options) <= options_of(command), f"holdwater {command} {options}"


def test_every_command_is_in_the_readme_and_says_what_it_does():
    told = {command for command, _ in commands_in(README)}
    for name, command in main.commands.items():
        assert name in told, f"holdwater {name} is missing in README.md"
        assert command.help, name


def test_the_readmes_make_targets_and_links_are_there():
    targets = set(re.findall(r"^([a-z-]+):", (HOME / "Makefile").read_text("utf-8"), re.MULTILINE))
    assert set(re.findall(r"^ +make ([a-z-]+)", README, re.MULTILINE)) <= targets
    for link in re.findall(r"(?<!!)\[[^]]*\]\(([^)#:]+)\)", README):
        assert (HOME / link).exists(), link


# -- the rules can fail -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("room", "text"),
    [
        ("tank", "from monitor.core import Core"), ("balance", "from monitor.tank.strapping import Strapping"),
        ("readings", "import monitor.cli"), ("forecast", "def f():\n    from monitor.balance import filter"),
        ("core", "from monitor import journal"), ("wire", "from monitor.attic import dust"),
    ],
)  # fmt: skip
def test_an_arrow_that_runs_up_is_seen(room, text):
    assert arrows_up(room, text)


def test_an_arrow_that_runs_down_is_none():
    assert arrows_up("core", "from monitor.balance.filter import Filter\nimport monitor.readings\nimport math") == []
    assert arrows_up("tank", "from monitor.tank.strapping import Strapping") == []


@pytest.mark.parametrize("text", [
    "import os", "import time", "from threading import Thread", "import socket", "from pathlib import Path",
    "import fastapi", "from datetime import datetime", "import random", "from random import gauss", "x = Random()",
    "open('x')", "datetime.now()", "datetime.datetime.utcnow()", "print(1)",
])  # fmt: skip
def test_touching_the_world_is_seen(text):
    assert touches_the_world(text)


def test_a_seeded_random_is_fine():
    assert touches_the_world("from random import Random\nr = Random(1)\nboard.now(at)") == []


def test_an_unknown_command_in_the_readme_would_be_seen():
    assert list(commands_in("run `holdwater fly --high` now")) == [("fly", ["--high"])]
