"""``holdwater plan``: the day in words, and what is refused."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from monitor.cli import main
from monitor.rig.faults import RigFaults
from monitor.rig.load import fairground, load, parse

TOW = '[tow]\nrated = "7000 lb"\nempty = "4200 lb"\nfuel = "80 lb"\nchemical = "220 lb"\n'
HOSE = 'pressure = "3800 psi"\nhose = { bore = "3/8 in", length = "200 ft", rated = "4000 psi" }\n'


@pytest.fixture
def rig(tmp_path):
    file = tmp_path / "rig.toml"
    text = fairground().replace('name = "Rides"\n', f'name = "Rides"\n{HOSE}', 1)
    file.write_text(TOW + "\n" + text, "utf-8")
    return str(file)


def said(*args):
    return CliRunner().invoke(main, ["plan", *args])


def test_a_day_in_words(rig):
    answer = said(rig, "--tap", "5 gal in 57 s", "--hours", "6")
    assert answer.exit_code == 0, answer.output
    for words in ("Does it last? hardly", "The first wait: about", "no full tank is enough", "2501 lb", "set near"):
        assert words in answer.output
    assert "inject" in answer.output
    assert "at best" not in answer.output


def test_a_bound_is_called_a_bound(rig):
    answer = said(rig, "--tap", "60 psi static, 5/8 in, 50 ft", "--pump", "Rides", "--water", "150 gal")
    assert "All that follows is at best" in answer.output
    assert "A part-full tank without baffles surges" in answer.output


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--tap", "60 psi"], "which is a pressure"),
        (["--pump", "Nobody"], "no pump is called Nobody"),
        (["--water", "4000 gal"], "more than the tank holds"),
    ],
)
def test_what_is_refused_says_why(rig, args, words):
    answer = said(rig, *args)
    assert answer.exit_code == 1
    assert words in answer.output


def test_the_plate_less_the_rest_is_left_for_water(rig, tmp_path):
    """7000 - 4200 - 80 - 220 lb = 2500 lb, at 8.34 lb/gal 300 gal."""
    checked = CliRunner().invoke(main, ["check", rig])
    assert "leaves room for 300 gal of water" in checked.output


@pytest.mark.parametrize(
    ("line", "words"),
    [('rated = "7000 psi"', "which is a pressure"), ('rated = "-1 lb"', "above 0"), ('rate = "1 lb"', "did you mean")],
)
def test_a_wrong_tow_table_is_a_named_fault(line, words):
    with pytest.raises(RigFaults, match=words):
        parse(f'[tow]\nempty = "4200 lb"\n{line}\n\n' + fairground())


def test_a_sites_tap_out_of_what_was_learned(rig, tmp_path, monkeypatch):
    hours = {"14": [3600.0, 15.0, 14.0, 16.0], "15": [3600.0, 13.0, 11.0, 14.0]}
    learned = json.dumps({"jobs": {"sites": {"North field": {"hours": hours}, "Dry": {"hours": {}}}}})
    monkeypatch.chdir(tmp_path)
    load(Path(rig)).journal.file.with_suffix(".state.json").write_text(learned, "utf-8")
    answer = said(rig, "--site", "North field")
    assert answer.exit_code == 0, answer.output
    assert "The tap: 3.7 gpm" in answer.output  # 14 l/min
    refused = said(rig, "--site", "Dry")
    assert refused.exit_code == 1
    assert "no tap was seen at Dry; sites with a tap: North field" in refused.output
