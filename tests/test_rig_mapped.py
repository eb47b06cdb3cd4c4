"""The rig file's [[feed.map]] and [[feed.register]] tables, and the guide to them."""

import re
import tomllib
from pathlib import Path

import pytest

from monitor.rig.describe import describe
from monitor.rig.faults import RigFaults
from monitor.rig.load import fairground, parse

GUIDE = (Path(__file__).parents[1] / "firmware_notes" / "other_nodes.md").read_text("utf-8")
TABLES = [tomllib.loads(block)["feed"] for block in re.findall(r"```toml\n(.*?)```", GUIDE, re.DOTALL)]
MQTT, MODBUS = TABLES


def faults(*feeds) -> list[str]:
    with pytest.raises(RigFaults) as refused:
        parse(fairground(), replaced={"feed": list(feeds)})
    return [str(fault) for fault in refused.value.faults]


def mapped(**keys):
    return {"mqtt": "mqtt://127.0.0.1", "map": [MQTT[0]["map"][0] | keys]}


def register(**keys):
    return MODBUS[0] | {"register": [MODBUS[0]["register"][0] | keys]}


def test_the_guides_tables_are_understood():
    rig = parse(fairground(), replaced={"feed": MQTT + MODBUS})
    assert [each.mapping.unit for each in rig.feeds[0].maps] == ["m", "l", "bool"]
    assert [name for name, _ in rig.named_feeds] == ["mqtt 1", "modbus 1"]
    said = " ".join(describe(rig).split())
    assert "tank/level from shed/sensor7/state /level/cm" in said
    assert "inlet/total from holding 16" in said
    assert "asked every 1 s" in said


@pytest.mark.parametrize(
    ("keys", "key", "expected"),
    [
        ({"topic": "shed/+/state"}, "map 1.topic", "one whole topic"),
        ({"pointer": "level"}, "map 1.pointer", "begins with"),
        ({"unit": "furlong"}, "map 1.unit", "one of"), ({"reading": "level"}, "map 1.reading", "with its node"),
        ({"reading": "rig/level"}, "map 1.reading", "another node"), ({"scale": 0.0}, "map 1.scale", "other than 0"),
        ({"on": "OPEN"}, "map 1.on", 'unless unit = "bool"'), ({"scala": 2.0}, "map 1.scala", "did you mean"),
    ],
)  # fmt: skip
def test_a_wrong_map_is_a_fault_at_its_key(keys, key, expected):
    [fault] = faults(mapped(**keys))
    assert f"[[feed]] 1 {key}" in fault
    assert expected in fault


@pytest.mark.parametrize(
    ("keys", "key", "expected"),
    [
        ({"device": 0}, "register 1.device", "1 to 247"), ({"address": 65536}, "register 1.address", "from 0"),
        ({"table": "coil"}, "register 1.table", "bool"), ({"unit": "bool"}, "register 1.table", "bool"),
        ({"form": "u8"}, "register 1.form", "u16"), ({"low_word_first": 1}, "register 1.low_word_first", "true"),
    ],
)  # fmt: skip
def test_a_wrong_register_is_a_fault_at_its_key(keys, key, expected):
    [fault] = faults(register(**keys))
    assert f"[[feed]] 1 {key}" in fault
    assert expected in fault


def test_a_modbus_line_without_registers_and_one_port_twice_are_faults():
    assert any("register" in fault for fault in faults({"modbus": "/dev/ttyUSB0", "register": []}))
    assert any("register" in fault for fault in faults({"modbus": "/dev/ttyUSB0"}))
    assert any("/dev/ttyUSB0" in fault for fault in faults(MODBUS[0], {"serial": "/dev/ttyUSB0"}))


def test_a_map_that_is_no_table_is_a_fault():
    assert faults({"mqtt": "mqtt://127.0.0.1", "map": 7})
    assert faults({"mqtt": "mqtt://127.0.0.1", "map": [7]})
