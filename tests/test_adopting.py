"""`holdwater adopt`: calibrations into the rig file, the owner's comments kept."""

import json
import tomllib

import pytest
from daemons import command

from monitor.core.calibrated import in_force
from monitor.rig.adopting import adopted
from monitor.rig.load import fairground, parse

FAIR = fairground()
ON_FILE = parse(FAIR)


def entry(what, of, file, after):
    return {"what": what, "of": of, "file": file, "before": file, "after": after, "spread": 0.01, "at": 1.0, "by": ""}


ROWS = [[0.0, 0.0], [0.25, 250.0], [0.6, 800.0], [1.05, 1220.0]]
KEPT = [
    entry("fill", "", [str(ON_FILE.tank.shape)], ROWS),
    entry("bucket", "", 1.0, 0.96543),
    entry("level", "tank/level", [1.0, 0.0], [1.02, -0.0127]),
    entry("draw", "Stalls", ON_FILE.pumps[1].draw_l_min, 14.0),
]  # fmt: skip


def test_every_calibration_lands_where_it_belongs_and_the_rest_stays_to_the_letter():
    after = adopted(FAIR, KEPT, "us")
    rig = parse(after)
    assert rig.tank.shape is None
    assert [(round(h, 3), round(v)) for h, v in rig.tank.rows] == [(h, v) for h, v in ROWS]
    assert rig.supply.meter_factor == pytest.approx(0.96543)
    assert (rig.tank.levels[0].scale, rig.tank.levels[0].offset_m) == (1.02, pytest.approx(-0.0127))
    assert rig.pumps[1].draw_l_min == pytest.approx(14.0, abs=0.02)
    before_lines, after_lines = FAIR.splitlines(), after.splitlines()
    gone = [line for line in before_lines if line not in after_lines]
    assert {line.split(" ")[0] for line in gone} == {"shape", "draw"}
    assert all(line.partition("#")[2] in after for line in before_lines if "#" in line and line not in gone)
    assert tomllib.loads(after).keys() == tomllib.loads(FAIR).keys()


def test_what_is_adopted_counts_no_second_time():
    assert in_force(parse(adopted(FAIR, KEPT, "us")), KEPT) == []


@pytest.mark.parametrize("shape", [
    '[tank.shape]\nkind = "horizontal cylinder"\ndiameter = "42 in"\nlength = "54 in"\n',
    'shape = { kind = "horizontal cylinder", diameter = "42 in", length = "54 in" } # as the maker says\n',
])  # fmt: skip
def test_a_shape_gives_way_to_the_table_however_it_is_written(shape):
    line = next(line for line in FAIR.splitlines(keepends=True) if line.startswith("shape"))
    text = FAIR.replace(line, shape if shape.startswith("shape") else "")
    if not shape.startswith("shape"):
        text = text.replace("[tank.level]", shape + "\n[tank.level]", 1)
    assert parse(adopted(text, KEPT[:1], "metric")).tank.rows


SHAPE = '[tank.shape]   # by the tape\nkind = "horizontal cylinder"\ndiameter = "42 in" # inside\nlength = "54 in"\n\n'
LEVEL = FAIR[FAIR.index("[tank.level]") : FAIR.index("[supply]")]
SHAPELESS = "".join(line for line in FAIR.splitlines(keepends=True) if not line.startswith("shape"))


@pytest.mark.parametrize("text", [
    SHAPELESS + "\n" + SHAPE, SHAPE + SHAPELESS, SHAPELESS.replace("[[pump]]", SHAPE + "[[pump]]", 1),
    SHAPE + SHAPELESS.replace(LEVEL, "") + "\n" + LEVEL, SHAPELESS.replace(LEVEL, "") + "\n" + SHAPE + LEVEL,
    LEVEL + SHAPE + SHAPELESS.replace(LEVEL, ""),
], ids=["last", "first", "between", "level last", "both last", "both first"])  # fmt: skip
def test_tables_out_of_their_order_are_no_hindrance(text):
    assert parse(text).tank.shape is not None
    after = adopted(text, KEPT, "us")
    rig = parse(after)
    assert rig.tank.shape is None
    assert len(rig.tank.rows) == len(ROWS)
    assert rig.tank.levels[0].offset_m == pytest.approx(-0.0127)
    assert all(line.partition("#")[2] in after for line in text.splitlines() if "#" in line)
    assert in_force(rig, KEPT) == []


def test_pulses_and_several_levels():
    text = FAIR.replace('measures = "total"', 'measures = "pulses"\nk_factor = "100 /gal" # the maker\'s')
    text = text.replace("[tank.level]", "[[tank.level]]").replace(
        "[supply]", '[[tank.level]]\nreading = "tank/rear"\nmeasures = "height"\n\n[supply]', 1
    )
    rear = entry("level", "tank/rear", [1.0, 0.0], [1.0, 0.05])
    after = adopted(text, [entry("bucket", "", 26.417, 28.27), rear], "us")
    rig = parse(after)
    assert rig.supply.k_factor_per_l == pytest.approx(28.27, rel=1e-4)
    assert (rig.tank.levels[0].offset_m, rig.tank.levels[1].offset_m) == (0.0, pytest.approx(0.05, abs=2e-4))
    assert "# the maker's" in after


@pytest.fixture
def rig_file(tmp_path):
    file = tmp_path / "rig.toml"
    file.write_text(FAIR, "utf-8")
    (tmp_path / "holdwater.state.json").write_text(json.dumps({"version": 1, "calibrations": KEPT[3:]}), "utf-8")
    return file


def test_the_command_shows_what_changes_and_asks(rig_file):
    said = command("adopt", rig_file, input="n\n")
    assert '+draw = "3.70 gpm"' in said.stdout
    assert "Nothing was changed." in said.stdout
    assert rig_file.read_text("utf-8") == FAIR
    assert command("adopt", rig_file, "--yes").returncode == 0
    assert 'draw = "3.70 gpm"' in rig_file.read_text("utf-8")
    assert "Nothing to adopt" in command("adopt", rig_file).stdout
