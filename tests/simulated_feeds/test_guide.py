"""The guide for writing a scenario is true: its example plays, its program runs, it leaves out no fault and no key."""

import re
from importlib.util import find_spec
from inspect import getsource
from pathlib import Path

import pytest
from click.testing import CliRunner
from test_house import commands_in, options_of

import simulated_feeds
from simulated_feeds import build_aboard, build_world, open_scenario, scenario_names
from simulated_feeds.__main__ import main
from simulated_feeds.faults import FAULTS
from simulated_feeds.hands import HANDS
from simulated_feeds.scenario import ALARMS, KEYS

GUIDE = (Path(simulated_feeds.__file__).parent / "README.md").read_text(encoding="utf-8")


def _block(kind: str) -> str:
    found = re.search(rf"```{kind}\n(.*?)```", GUIDE, re.DOTALL)
    assert found
    return found[1]


def test_its_example_can_be_played_as_it_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("carousel.toml").write_text(_block("toml"), encoding="utf-8")
    command = re.search(r"python -m simulated_feeds (.*)", GUIDE)
    assert command
    ran = CliRunner().invoke(main, command[1].split())
    assert ran.exit_code == 0, ran.output
    assert len(Path("carousel.jsonl").read_text().splitlines()) > 3600
    story = open_scenario(Path("carousel.toml"))
    assert Path("carousel-rig.toml").read_text() == story.rig_toml
    assert story.truth(story.start_at + 840).inflow_l_min > 15
    assert story.truth(story.start_at + 960).inflow_l_min == 0.0
    assert story.expect.must[0].alarm == "supply-lost"


def test_its_program_runs() -> None:
    names: dict[str, object] = {}
    exec(_block("python"), names)
    assert len(names["events"]) > 300  # type: ignore[arg-type]
    assert names["story"].faults_on == {"level-stuck"}  # type: ignore[attr-defined]


def test_every_fault_and_what_it_takes_is_in_it() -> None:
    table = [line for line in GUIDE.splitlines() if line.startswith("| `")]
    rows = {name: line for line in table for name in re.findall(r"`([a-z-]+)`", line.split("|")[1])}
    for kind in FAULTS.values():
        assert kind.name in rows, kind.name
        for key in kind.takes:
            assert f"`{key}`" in rows[kind.name], f"{kind.name} takes {key}"


def test_every_alarm_and_every_pump_and_rig_to_choose_from_is_in_it() -> None:
    told = GUIDE.partition("The alarms that can be expected:")[2].partition("\n\n")[0]
    assert re.findall(r"`([a-z-]+)`", told) == list(ALARMS)
    for pump in open_scenario("fairground").scenario.rig["pump"]:
        assert f"{pump['name']} (" in GUIDE
    for rig in (Path(simulated_feeds.__file__).parent / "rigs").glob("*.toml"):
        assert f"`{rig.stem}`" in GUIDE


def test_its_commands_exist() -> None:
    for module in re.findall(r"python -m ([\w.]+)", GUIDE):
        assert find_spec(module), module
    for command, options in commands_in(GUIDE):
        assert set(options) <= options_of(command), command


def test_a_scenario_may_bear_the_name_of_its_rig(tmp_path: Path) -> None:
    (tmp_path / "carousel.toml").write_text(_block("toml"), encoding="utf-8")
    (tmp_path / "fairground.toml").write_text('title = "Another day"\n', encoding="utf-8")
    assert open_scenario(tmp_path / "carousel.toml").rig_toml == open_scenario("fairground").rig_toml


def test_every_table_and_key_is_in_it() -> None:
    for key in KEYS - {"title", "rig", "begins", "hours", "seed"}:
        assert re.search(rf"`\[+{key}[\].]", GUIDE), key
    source = getsource(build_world) + getsource(build_aboard)
    for key in re.findall(r'(?:row|table|crew|hand)\.get\("(\w+)"', source):
        assert f"`{key}`" in GUIDE or f"`{key}" in GUIDE or key in _rig_keys(), key
    for hand in HANDS:
        assert hand in _block("python")


def _rig_keys() -> set[str]:
    """Keys that are read from rig files, not from scenarios."""
    return {"draw", "bypass", "to", "ahead", "measures"}


def test_the_scenarios_are_many_and_each_trap_has_one() -> None:
    assert {
        "late-pumps", "shut-in-balance", "restless-counter", "false-echo", "three-zeros", "backlog", "parked-and-full",
        "trickle", "frozen-while-parked", "level-lost", "creeping-level", "flipped-slope",
    } <= set(scenario_names())  # fmt: skip
