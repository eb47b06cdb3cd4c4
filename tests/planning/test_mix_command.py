"""``holdwater mix``: the arithmetic in full, the walk, the cautions."""

import pytest
from click.testing import CliRunner

from monitor.cli import main
from monitor.rig.load import fairground


@pytest.fixture
def rig(tmp_path):
    file = tmp_path / "rig.toml"
    hose = 'hose = { bore = "3/8 in", length = "150 ft" }\n'
    file.write_text(fairground().replace('name = "Rides"\n', f'name = "Rides"\n{hose}', 1), "utf-8")
    return str(file)


def said(rig, *args):
    return CliRunner().invoke(main, ["mix", rig, *args])


def test_the_arithmetic_is_shown_in_full(rig):
    """150 ft of 3/8 in hold 0.861 gal (geometry): 8.6 s at 6 gpm, the draw in the rig file."""
    answer = said(rig, "--drawn", "0.5 gal in 100 s")
    assert answer.exit_code == 0, answer.output
    for words in (
        "20 parts of water to one",
        "Rides: 6 % × 0.30 gpm / (0.30 gpm + 6.0 gpm) = 0.29 %",
        "after 9 s of flow",
        "6 / 12.5 × 5.0 gal = 2.4 gal of the strong one, and 5.0 gal − 2.4 gal = 2.6 gal of water",
        "lasts 17 min",
    ):
        assert words in answer.output


def test_the_smaller_pump_is_said_to_get_the_stronger_mix(rig):
    output = said(rig, "--drawn", "0.5 gal in 100 s").output
    assert "Stands: 6 % × 0.30 gpm / (0.30 gpm + 3.0 gpm) = 0.55 %" in output


def test_the_walk_and_the_cautions_are_there(rig):
    output = said(rig, "--drawn", "0.5 gal in 100 s").output
    for words in (
        "low-pressure nozzle", "pick-up strainer", "check ball", "Was hose added", "gloves and goggles",
        "Never mix bleach with acids or ammonia", "Rinse plants", "discharge rules", "pressure released",
    ):  # fmt: skip
        assert words in output


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--drawn", "0.5 gal"], "expected a time"),
        (["--drawn", "0 gal in 9 s"], "above 0"),
        (["--drawn", "1 gal in 9 s", "--pump", "Nobody"], "no pump is called Nobody"),
        (["--drawn", "1 gal in 9 s", "--strength", "20"], "must be weaker"),
    ],
)
def test_what_is_refused_says_why(rig, args, words):
    answer = said(rig, *args)
    assert answer.exit_code == 1
    assert words in answer.output
