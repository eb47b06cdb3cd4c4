# ruff: noqa: E501 (a table of faults reads best a row to a line)
"""Rig files that are wrong: each fault with its table, its key, what was found and what is expected, all at once."""

from pathlib import Path

import pytest

from monitor.rig.faults import Fault, RigFaults
from monitor.rig.load import fairground, load, parse

LEVEL = 'reading = "tank/level"\nmeasures = "height"           # height | distance | pressure | current | volume'
SHAPE = 'shape = { kind = "horizontal cylinder", diameter = "42 in", length = "54 in" }'
EXAMPLE = fairground()


def faults_of(text: str) -> list[Fault]:
    with pytest.raises(RigFaults) as caught:
        parse(text, Path("/etc/holdwater/rig.toml"))
    assert all(str(fault) in str(caught.value) for fault in caught.value.faults)
    return caught.value.faults


def changed(old: str, new: str) -> str:
    assert EXAMPLE.count(old) == 1, old
    return EXAMPLE.replace(old, new)


# what stands in the example, what it is changed to, and then table, key, found, expected of the one fault
WRONG: list[tuple[str, str, str, str, str, str]] = [
    ('heel = "30 gal"', 'heal = "30 gal"\nheel = "30 gal"', "[tank]", "heal", "an unknown key", "heel (did you mean"),
    ('heel = "30 gal"', 'xyzzy = 1\nheel = "30 gal"', "[tank]", "xyzzy", "an unknown key", "one of capacity, full"),
    ('heel = "30 gal"', "", "[tank]", "heel", "nothing", '"320 gal"'),
    ('heel = "30 gal"', "heel = 30", "[tank]", "heel", "30", "a volume with its unit: gal"),
    ('heel = "30 gal"', 'heel = "30"', "[tank]", "heel", '"30", which has no unit', "a volume with its unit"),
    ('heel = "30 gal"', "heel = true", "[tank]", "heel", "true", "a volume with its unit"),
    ('heel = "30 gal"', "heel = nan", "[tank]", "heel", "nan", "a volume with its unit"),
    ('heel = "30 gal"', 'heel = "nan gal"', "[tank]", "heel", '"nan gal"', "a volume with its unit"),
    ('heel = "30 gal"', 'heel = "inf gal"', "[tank]", "heel", '"inf gal"', "a volume with its unit"),
    ('heel = "30 gal"', 'heel = "-3 gal"', "[tank]", "heel", '"-3 gal"', "0 or more"),
    ('heel = "30 gal"', 'heel = "30 in"', "[tank]", "heel", '"30 in", which is a length', "a volume"),
    ('heel = "30 gal"', 'heel = ["30 gal"]', "[tank]", "heel", '["30 gal"]', "a volume"),
    ('heel = "30 gal"', "heel = 2026-11-25", "[tank]", "heel", "2026-11-25", "a volume"),
    ('heel = "30 gal"', 'heel = "330 gal"', "[tank]", "heel", "330.0 gal = 1249.2 L", "less than full (300.0 gal"),
    ('heel = "30 gal"', 'heel = "300 gal"', "[tank]", "heel", "300.0 gal", "less than full"),
    ('capacity = "320 gal"', 'capacity = "1e300 gal"', "[tank]", "capacity", '"1e300 gal"', "a trailer can have"),
    ('capacity = "320 gal"', 'capacity = "0 gal"', "[tank]", "capacity", '"0 gal"', "above 0"),
    ('capacity = "320 gal"', 'capacity = "330 gal"', "[tank]", "shape", "ends at 323.9 gal", "(330.0 gal = 1249.2 L)"),
    ('full = "300 gal"', 'full = "321 gal"', "[tank]", "full", "321.0 gal", "at most capacity (320.0 gal"),
    ('tow_limit = "80 gal"', 'tow_limit = "400 gal"', "[tank]", "tow_limit", "400.0 gal", "at most capacity"),
    ('band = ["50 gal", "180 gal"]', 'band = ["20 gal", "180 gal"]', "[tank]", "band", "20.0 gal", "from heel to full"),
    ('band = ["50 gal", "180 gal"]', 'band = ["50 gal", "310 gal"]', "[tank]", "band", "310.0 gal", "from heel to full"),
    ('band = ["50 gal", "180 gal"]', 'band = ["180 gal", "50 gal"]', "[tank]", "band", "180.0 gal", "low below high"),
    ('band = ["50 gal", "180 gal"]', 'band = ["50 gal"]', "[tank]", "band", '["50 gal"]', "two texts"),
    ('band = ["50 gal", "180 gal"]', 'band = "50 gal"', "[tank]", "band", '"50 gal"', "two texts"),
    ('bore = "1.5 in", height', 'bore = "1.5 gal", height', "[tank]", "outlet.bore", "which is a volume", "a length"),
    ('running = "stalls/running"', 'hose = { bore = "3/8 in" }', "[[pump]] 2", "hose.length", "nothing", '"150 ft"'),
    ('running = "stalls/running"', 'hose = "150 ft"', "[[pump]] 2", "hose", '"150 ft"', '{ bore = "3/8 in", length'),
    ('running = "stalls/running"', 'hose = { bore = "3/8 in", length = "2 km" }', "[[pump]] 2", "hose.length", '"2 km"',
     "a length"),
    ('bore = "1.5 in", height', 'boer = "1.5 in", bore = "1 in", height', "[tank]", "outlet.boer", "an unknown", "bore"),
    ('outlet = { bore = "1.5 in", height = "0 in" }', 'outlet = "1.5 in"', "[tank]", "outlet", '"1.5 in"', "{ bore = "),
    (SHAPE, "", "[tank]", "strapping", "neither", "one of shape and strapping"),
    (SHAPE, SHAPE + '\nstrapping = [["0 in", "0 gal"], ["1 m", "400 gal"]]', "[tank]", "strapping", "both", "one of"),
    (SHAPE, 'strapping = [["0 in", "0 gal"]]', "[tank]", "strapping", '[["0 in", "0 gal"]]', "at least two rows"),
    (SHAPE, 'strapping = [["0 in", "0 gal"], ["9 in"]]', "[tank]", "strapping row 2", '["9 in"]', "two texts"),
    (SHAPE, 'strapping = [["0 in", "0 gal"], ["9 in", 7]]', "[tank]", "strapping row 2", "7", "a volume"),
    (SHAPE, 'strapping = "table.csv"', "[tank]", "strapping", '"table.csv"', "at least two rows"),
    (
        SHAPE,
        'strapping = [["0 in", "0 gal"], ["20 in", "200 gal"], ["40 in", "180 gal"], ["42 in", "320 gal"]]',
        "[tank]",
        "strapping row 3",
        '["40 in", "180 gal"] after ["20 in", "200 gal"]',
        "rows that rise in both",
    ),
    (
        SHAPE,
        'strapping = [["0 in", "0 gal"], ["40 in", "316 gal"]]',
        "[tank]",
        "strapping",
        "ends at 316.0 gal",
        "reaches the capacity (320.0 gal",
    ),
    (SHAPE, 'shape = "box"', "[tank]", "shape.kind", '"box"', '"horizontal cylinder", "vertical cylinder", "box"'),
    (SHAPE, 'shape = { kind = "sphere" }', "[tank]", "shape.kind", '"sphere"', '"box"'),
    (SHAPE, 'shape = { kind = ["box"] }', "[tank]", "shape.kind", '["box"]', '"box"'),
    (SHAPE, SHAPE.replace(" }", ', ends = "round" }'), "[tank]", "shape.ends", '"round"', "dished"),
    (SHAPE, SHAPE.replace(" }", ', ends = "conical" }'), "[tank]", "shape", "{ kind = ", "a conical end needs its depth"),
    (SHAPE, SHAPE.replace(" }", ', lenght = "1 m" }'), "[tank]", "shape.lenght", "an unknown key", "length (did you mean"),
    (LEVEL, LEVEL.replace("height", "heigth", 1), "[tank.level]", "measures", '"heigth"', "height, distance"),
    (LEVEL, LEVEL.replace("tank/level", "tank level"), "[tank.level]", "reading", '"tank level"', "- : . / _ only"),
    (LEVEL, LEVEL.replace("tank/level", "rig/level"), "[tank.level]", "reading", '"rig/level"', "the daemon's own"),
    (LEVEL, LEVEL.replace('"tank/level"', "7"), "[tank.level]", "reading", "7", "a reading's name"),
    (LEVEL, LEVEL.replace("height", "distance", 1), "[tank.level]", "zero", "nothing", '"44 in"'),
    (LEVEL, LEVEL.replace("height", "current", 1), "[tank.level]", "range", "nothing", '["0 in", "42 in"]'),
    (LEVEL, 'range = ["0 in", "9 gal"]\n' + LEVEL.replace("height", "current", 1),
     "[tank.level]", "range", '["0 in", "9 gal"]', "two lengths, pressures or volumes"),
    (LEVEL, 'zero = "44 in"\n' + LEVEL, "[tank.level]", "zero", "a setting", 'none, since measures = "height"'),
    (LEVEL, "absolute = true\n" + LEVEL.replace("height", "pressure", 1),
     "[tank.level]", "absolute", "true", "a barometer in [extra]"),
    (LEVEL, 'absolute = "yes"\n' + LEVEL.replace("height", "pressure", 1),
     "[tank.level]", "absolute", '"yes"', "true where"),
    ('measures = "total"', 'measures = "pulses"', "[supply]", "k_factor", "nothing", '"1700 /gal"'),
    ('measures = "total"', 'measures = "total"\nk_factor = "9 /gal"', "[supply]", "k_factor", "a K-factor", "none, since"),
    ('measures = "total"', "measures = 3", "[supply]", "measures", "3", "total, pulses or rate"),
    ('shut = "300 gal"', 'shut = "260 gal"', "[supply]", "float_valve.shut", "260.0 gal", "more than starts_closing"),
    ('shut = "300 gal"', 'shut = "321 gal"', "[supply]", "float_valve.shut", "321.0 gal", "at most the tank's capacity"),
    ('draw = "6 gpm"', 'draw = "7 gal"', "[[pump]] 1", "draw", '"7 gal", which is a volume', "a flow with its unit: gpm"),
    ('draw = "6 gpm"', 'draw = "6 GPM"', "[[pump]] 1", "draw", '"6 GPM"', "a flow with its unit: gpm"),
    ('draw = "6 gpm"', 'draw = "0 gpm"', "[[pump]] 1", "draw", '"0 gpm"', "above 0"),
    ('name = "Stalls"', 'name = "Rides"', "[[pump]] 2", "name", '"Rides", as [[pump]] 1 has it', "a name of its own"),
    ('name = "Stalls"', "name = 3", "[[pump]] 2", "name", "3", "a text"),
    ('name = "Stalls"', 'name = " "', "[[pump]] 2", "name", '" "', "a text"),
    ('name = "Stalls"', 'name = "a\\nb"', "[[pump]] 2", "name", '"a�b"', "a text of one line"),
    ('"stalls/running"', '"rides/running"', "[[pump]] 2", "running", '"rides/running", as [[pump]] 1 running', "of its own"),
    ('"stalls/running"', '"tank/level"', "[[pump]] 2", "running", '"tank/level", as [tank.level] reading', "of its own"),
    ('"stalls/running"', "true", "[[pump]] 2", "running", "true", 'or { reading = "rides/pressure"'),
    ('"stalls/running"', '{ reading = "a/b", above = "3 gal" }', "[[pump]] 2", "running.above", '"3 gal"', "a pressure, a"),
    ('"stalls/running"', '{ reading = "a/b", abov = "3 psi" }', "[[pump]] 2", "running.abov", "an unknown", "above"),
    ('to = "inlet"', 'to = "engine"', "[[pump]] 1", "bypass.to", '"engine"', "inlet, tank or ground"),
    ('time = "3 min"', 'time = "3 gal"', "[[pump]] 1", "bypass.time", '"3 gal", which is a volume', "a time"),
    ('motion = "tank/motion"', "motion = false", "[extra]", "motion", "false", "a reading's name"),
    ('motion = "tank/motion"', 'wind = "mast/wind"', "[extra]", "wind", "an unknown key", "one of motion, slope"),
    ('motion = "tank/motion"', 'slope = "inlet/total"', "[extra]", "slope", '"inlet/total", as [supply] reading', "own"),
    ('act_time = "2 min"', "act_time = 120", "[warn]", "act_time", "120", "a time with its unit: s, min, h"),
    ("[warn]", "[worn]", "", "[worn]", "an unknown table", "warn (did you mean that?)"),
    ('"mqtt://127.0.0.1:1883"', '"127.0.0.1"', "[[feed]] 1", "mqtt", '"127.0.0.1"', "mqtt://HOST:PORT"),
    ('"mqtt://127.0.0.1:1883"', '"mqtt://h:99999"', "[[feed]] 1", "mqtt", '"mqtt://h:99999"', "mqtt://HOST:PORT"),
    ('"mqtt://127.0.0.1:1883"', '"mqtt://u:pw@h"', "[[feed]] 1", "mqtt", "an address with a password", "password_file"),
    ('["holdwater/+/readings"]', "[]", "[[feed]] 1", "topics", "[]", "a list of topics"),
    ('["holdwater/+/readings"]', '"a/b"', "[[feed]] 1", "topics", '"a/b"', "a list of topics"),
    ('["holdwater/+/readings"]', '["a/b", "a/#/b"]', "[[feed]] 1", "topics 2", '"a/#/b"', "stand for whole levels"),
    ('["holdwater/+/readings"]', '["a+/b"]', "[[feed]] 1", "topics 1", '"a+/b"', "stand for whole levels"),
    ("baud = 115200", 'baud = "fast"', "[[feed]] 2", "baud", '"fast"', "a whole number"),
    ("baud = 115200", "baud = true", "[[feed]] 2", "baud", "true", "a whole number"),
    ("baud = 115200", "baud = 1.5", "[[feed]] 2", "baud", "1.5", "a whole number"),
    ("baud = 115200", "baud = 0", "[[feed]] 2", "baud", "0", "a whole number"),
    ("baud = 115200", 'clock = "mine"', "[[feed]] 2", "clock", '"mine"', '"node"'),
    ('serial = "/dev/ttyUSB0"', "", "[[feed]] 2", "", "{ baud = 115200 }", "exactly one of mqtt, serial, modbus, simulated"),
    ('serial = "/dev/ttyUSB0"', 'serial = "a"\nsimulated = "b"', "[[feed]] 2", "", "serial and simulated", "exactly one"),
    ("[journal]", '[[feed]]\nserial = "/dev/ttyUSB0"\n[journal]', "[[feed]] 3", "serial", "as [[feed]] 2", "of its own"),
    ("[journal]", '[[feed]]\nmqtt = "mqtt://127.0.0.1:1883"\n[journal]', "[[feed]] 3", "topics", "[[feed]] 1", "own"),
    ("[journal]", '[[feed]]\nsimulated = "a"\nspeed = nan\n[journal]', "[[feed]] 3", "speed", "nan", "a number above 0"),
    ("[journal]", '[[feed]]\nrecorded = "a"\nspeed = -1\n[journal]', "[[feed]] 3", "speed", "-1", "a number above 0"),
    ("[journal]", '[[feed]]\nmqtt = "mqtt://b"\npassword = "p"\n[journal]', "[[feed]] 3", "password", "no user", "username"),
    ("[journal]", '[[feed]]\nmqtt = "mqtt://b"\nca = "a.pem"\n[journal]', "[[feed]] 3", "ca", '"mqtt://b"', "mqtts://"),
    ("[journal]", "[journal]\nraw_days = 0", "[journal]", "raw_days", "0", "days from 1 to 36500"),
    ("[journal]", "[journal]\nmost_mb = nan", "[journal]", "most_mb", "nan", "megabytes from 10 to 1000000"),
    ("[journal]", '[journal]\nrollup_years = "ten"', "[journal]", "rollup_years", '"ten"', "years from 1 to 100"),
    ('file = "holdwater.db"', "file = 7", "[journal]", "file", "7", "a text"),
    ('listen = "127.0.0.1:8321"', 'listen = "rig.example:80"', "[page]", "listen", "no address", "paired devices"),
    ('listen = "127.0.0.1:8321"', 'names = ["a b"]', "[page]", "names", "a b", "holdwater.local"),
    ('listen = "127.0.0.1:8321"', 'certificate = "a.pem"', "[page]", "key", "one of", "both, or none"),
    ('listen = "127.0.0.1:8321"', 'listen = "127.0.0.1"', "[page]", "listen", '"127.0.0.1"', '"127.0.0.1:8321"'),
    ('listen = "127.0.0.1:8321"', 'listen = "127.0.0.1:70000"', "[page]", "listen", ":70000", '"127.0.0.1:8321"'),
    ('listen = "127.0.0.1:8321"', "listen = 8321", "[page]", "listen", "8321", '"127.0.0.1:8321"'),
    ('units = "us"', 'units = "imperial"', "[rig]", "units", '"imperial"', '"us" or "metric"'),
    ('language = "en"', 'language = "fr"', "[rig]", "language", '"fr"', '"en" or "es"'),
    ('"America/Chicago"', '"America/Chigaco"', "[rig]", "timezone", '"America/Chigaco"', '"America/Chicago" (did you mean'),
    ('"America/Chicago"', '"../../etc/passwd"', "[rig]", "timezone", '"../../etc/passwd"', "IANA name"),
    ('"America/Chicago"', '"America"', "[rig]", "timezone", '"America"', "IANA name"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "table", "key", "found", "expected"), WRONG)
def test_one_fault(old: str, new: str, table: str, key: str, found: str, expected: str) -> None:
    (fault,) = faults_of(changed(old, new))
    assert (fault.table, fault.key) == (table, key)
    assert found in fault.found
    assert expected in fault.expected


def test_no_feed() -> None:
    text = EXAMPLE[: EXAMPLE.index("[[feed]]")]
    assert [(fault.table, fault.found) for fault in faults_of(text)] == [("[[feed]]", "nothing")]


def test_no_level() -> None:
    text = EXAMPLE.replace("[tank.level]\nreading", "[tank.leval]\nreading")
    missing, unknown = faults_of(text)
    assert (missing.table, missing.found) == ("[tank.level]", "nothing")
    assert (unknown.table, unknown.key, unknown.expected) == ("[tank]", "leval", "level (did you mean that?)")


def test_the_permit_wants_a_broker() -> None:
    text = EXAMPLE.replace('mqtt = "mqtt://127.0.0.1:1883"\ntopics = ["holdwater/+/readings"]', 'simulated = "x"')
    assert [(fault.table, fault.key) for fault in faults_of(text + "[notices]\npermit = true")] == [
        ("[notices]", "permit")
    ]


def test_an_empty_file_wants_what_has_no_default_and_nothing_else() -> None:
    places = {f"{fault.table} {fault.key}".strip() for fault in faults_of("")}
    assert places == {"[tank.level]", "[tank] capacity", "[tank] heel", "[tank] strapping", "[[feed]]"}


def test_all_faults_at_once_and_those_between_tables_too() -> None:
    text = EXAMPLE
    for old, new in (
        ('units = "us"', 'units = "imperial"'),
        ('full = "300 gal"', 'ful = "300 gal"'),
        ('tow_limit = "80 gal"', "tow_limit = 80"),
        ("[tank.level]\n", "[tank.level]\nzero = 4\n"),
        ('shut = "300 gal"', 'shut = "400 gal"'),
        ('name = "Stalls"', 'name = "Rides"'),
        ('draw = "3 gpm"', 'draw = "3 gal"'),
        ("[warn]", "[wran]"),
        ('"mqtt://127.0.0.1:1883"', '"nowhere"'),
        ('listen = "127.0.0.1:8321"', 'listen = "rig.example:80"'),
    ):
        assert old in text
        text = text.replace(old, new)
    assert [f"{fault.table} {fault.key}".strip() for fault in faults_of(text)] == [
        "[wran]",
        "[rig] units",
        "[tank.level] zero",
        "[tank] tow_limit",
        "[tank] ful",
        "[[pump]] 3 draw",
        "[[feed]] 1 mqtt",
        "[page] listen",
        "[supply] float_valve.shut",
        "[[pump]] 2 name",
    ]


def test_the_whole_message() -> None:
    with pytest.raises(RigFaults) as caught:
        parse(EXAMPLE.replace('draw = "6 gpm"', 'draw = "7 gal"').replace("[warn]", "[warns]"), Path("my rig.toml"))
    assert str(caught.value).splitlines() == [
        "my rig.toml cannot be used, it has 2 faults:",
        "  [warns]: found an unknown table; expected warn (did you mean that?)",
        '  [[pump]] 1 draw: found "7 gal", which is a volume; expected a flow with its unit: gpm, L/min, l/min, l/s, above 0',
    ]


def test_thousands_of_faults_are_all_kept_and_not_all_printed() -> None:
    text = EXAMPLE + "".join(f"[[pump]]\ndraw = {number}\n" for number in range(2000))
    with pytest.raises(RigFaults) as caught:
        parse(text)
    assert len(caught.value.faults) == 2000
    assert len(str(caught.value).splitlines()) < 60
    assert "and 1950 more" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("[tank", "at end of document"),
        ("a = 1\na = 2", "Cannot overwrite a value"),
        ("[tank]\n[tank]", "Cannot declare ('tank',) twice"),
        ("heel = 30 gal", "line 1"),
        ("a = " + "[" * 100_000, "nested"),
        ("a = " + "9" * 5000, "digits"),
    ],
)
def test_what_is_no_toml_is_said_to_be_none(text: str, found: str) -> None:
    (fault,) = faults_of(text)
    assert found in fault.found
    assert fault.expected.startswith("TOML")


@pytest.mark.parametrize(
    "name", ["rig", "tank", "supply", "pump", "extra", "warn", "feed", "journal", "page", "notices"]
)
@pytest.mark.parametrize(
    "value", ["3", '"text"', "true", "nan", "[3]", '["x"]', "[[]]", "1979-05-27", "0x" + "f" * 9000]
)
def test_a_table_that_is_none(name: str, value: str) -> None:
    assert any(name in fault.table for fault in faults_of(f"{name} = {value}"))


def test_a_key_of_ten_thousand_dots() -> None:
    assert faults_of("tank." + "a." * 10_000 + "a = 1")


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(RigFaults, match="No such file") as caught:
        load(tmp_path / "rig.toml")
    assert caught.value.file == str(tmp_path / "rig.toml")


def test_a_folder_for_a_file(tmp_path: Path) -> None:
    with pytest.raises(RigFaults, match="Is a directory"):
        load(tmp_path)


def test_a_name_no_file_can_have() -> None:
    with pytest.raises(RigFaults, match="no way to read it"):
        load("rig\0.toml")


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    file = tmp_path / "rig.toml"
    file.write_bytes(b'[rig]\nname = "Ca\xf1on"')
    with pytest.raises(RigFaults, match="byte 16, which is no UTF-8"):
        load(file)


def test_a_huge_file(tmp_path: Path) -> None:
    file = tmp_path / "rig.toml"
    file.write_bytes(b"#" * 1_000_001)
    with pytest.raises(RigFaults, match="more than 1,000,000 bytes"):
        load(file)
