"""The owner's guides cannot rot: their rig file is read, their commands exist, their links lead somewhere."""

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import click
import pytest
import rig_keys

from monitor.cli import main
from monitor.rig.kinds import Table
from monitor.rig.load import TABLES, parse

NOTES = Path(__file__).parents[1] / "firmware_notes"
PAGES = sorted(NOTES.rglob("*.md"))
GUIDE = (NOTES / "guide.md").read_text("utf-8")


def test_the_guides_rig_file_is_understood():
    rig = parse(re.findall(r"<!-- run: rig -->\n```toml\n(.*?)```", GUIDE, re.DOTALL)[0])
    assert rig.tank.levels[0].reading == "tank/level"


def test_every_command_in_the_guide_can_be_parsed():
    said = re.findall(r"^    holdwater (\S+)([^#\n]*)", GUIDE, re.MULTILINE)
    assert len(said) > 10
    for name, rest in said:
        words = [a or b for a, b in re.findall(r'"([^"]*)"|(\S+)', rest)]
        command = main.commands[name]
        command.make_context(name, words, resilient_parsing=False)
        assert isinstance(command, click.Command)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_and_pictures_are_there(page):
    for link in re.findall(r"\[[^]]*\]\(([^)#:]+)\)", page.read_text("utf-8")):
        assert (page.parent / link).exists(), link


@pytest.mark.parametrize("drawing", sorted((NOTES / "drawings").glob("*.svg")), ids=lambda file: file.name)
def test_a_drawing_is_sound_and_has_a_title(drawing):
    root = ET.fromstring(drawing.read_text("utf-8"))
    assert root.find("{http://www.w3.org/2000/svg}title") is not None
    assert root.get("viewBox")


def test_the_cautions_stand_where_the_work_is():
    words = ("chocked", "drill into a tank that held chemicals", "vacuum breaker", "carbon monoxide", "enter a tank")
    for word in words:
        assert word in GUIDE, word


# -- the page of keys -------------------------------------------------------------------------------------------------


def tables(kind=Table):
    for each in kind.__subclasses__():
        yield each
        yield from tables(each)


def test_the_page_of_keys_is_what_the_program_reads():
    hint = "write it anew: PYTHONPATH=.:tests python tests/rig_keys.py"
    assert rig_keys.PAGE.read_text("utf-8") == rig_keys.page(), hint


def test_every_table_there_is_is_on_the_page_of_keys():
    listed = {table for _, table in rig_keys.LISTED} | set(rig_keys.SHAPES.values())
    base = {"Rig", "_Mapped", "Broker"}
    known = {each for each in tables() if each.__module__.startswith("monitor.rig") and each.__name__ not in base}
    assert {each.__name__ for each in known - listed} == set(), "list it in tests/rig_keys.py"
    places = " ".join(place for place, _ in rig_keys.LISTED)
    assert all(f"[{name}]" in places for name in TABLES)
