"""Readings mapped from other JSON and from registers."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.quantities import read
from monitor.readings import Record
from monitor.wire.mapped import UNITS_TAKEN, at, decode, mapping, tokens
from monitor.wire.registers import FORMS, count, number
from monitor.wire.rejected import Rejected

# RFC 6901 section 5: the document and what each pointer evaluates to
DOCUMENT = json.loads(r"""
   {
      "foo": ["bar", "baz"],
      "": 0,
      "a/b": 1,
      "c%d": 2,
      "e^f": 3,
      "g|h": 4,
      "i\\j": 5,
      "k\"l": 6,
      " ": 7,
      "m~n": 8
   }""")
EXAMPLES = [
    ("", DOCUMENT), ("/foo", ["bar", "baz"]), ("/foo/0", "bar"), ("/", 0), ("/a~1b", 1), ("/c%d", 2), ("/e^f", 3),
    ("/g|h", 4), ("/i\\j", 5), ('/k"l', 6), ("/ ", 7), ("/m~0n", 8),
]  # fmt: skip


@pytest.mark.parametrize(("pointer", "value"), EXAMPLES)
def test_the_examples_of_rfc_6901(pointer, value):
    assert at(DOCUMENT, pointer) == value


def test_rfc_6901_section_4_tilde_zero_one_is_a_tilde_and_a_one():
    assert tokens("/~01") == ["~1"]


NOWHERE = ["/foo/2", "/foo/-", "/foo/00", "/foo/01", "/nothing", "/foo/bar", "/a~1b/0", "/m~n"]


@pytest.mark.parametrize("pointer", NOWHERE)
def test_a_pointer_that_finds_nothing_says_so(pointer):
    with pytest.raises((LookupError, ValueError)):
        at(DOCUMENT, pointer)


@pytest.mark.parametrize("pointer", ["foo", "/~", "/~2", "/a~"])
def test_what_is_no_pointer_is_refused(pointer):
    with pytest.raises(ValueError, match="JSON Pointer"):
        tokens(pointer)


@given(st.lists(st.text(max_size=6), min_size=1, max_size=4), st.integers())
def test_any_key_can_be_pointed_at(keys, value):
    document = value
    for key in reversed(keys):
        document = {key: document}
    assert at(document, "".join("/" + key.replace("~", "~0").replace("/", "~1") for key in keys)) == value


def one(payload: bytes, **how) -> Record:
    ([record], []) = decode(payload, [mapping("tank/level", how.pop("pointer", ""), how.pop("unit", "m"), **how)])
    return record


@pytest.mark.parametrize(
    ("payload", "how", "unit", "value"),
    [
        (b'{"d":{"mm":612}}', {"pointer": "/d/mm", "unit": "mm"}, "m", 0.612),
        (b'{"d":["24.1"]}', {"pointer": "/d/0", "unit": "in"}, "m", 24.1 * 0.0254),
        (b"0.612", {}, "m", 0.612),
        (b" +.5\n", {}, "m", 0.5),
        (b"7", {"unit": "gpm"}, "l/min", 7 * 3.785411784),
        (b"320", {"unit": "gal"}, "l", 320 * 3.785411784),
        (b"50", {"unit": "°F"}, "Cel", 10.0),
        (b"9.8", {"unit": "kPa"}, "Pa", 9800.0),
        (b"40123", {"unit": "count"}, "count", 40123.0),
        (b"120", {"unit": "cm", "scale": -1.0, "shift": 200.0}, "m", 0.8),
        (b"1.25", {"unit": "m3"}, "l", 1250.0),
    ],
)
def test_numbers_in_the_units_people_have(payload, how, unit, value):
    record = one(payload, **how)
    assert (record.name, record.unit) == ("tank/level", unit)
    assert record.value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("payload", "on", "value"),
    [(b"true", None, True), (b"OFF", None, False), (b'"Yes"', None, True), (b"0", None, False), (b"1", None, True),
     (b"RUNNING", "RUNNING", True), (b"IDLE", "RUNNING", False), (b"true", "true", True)],
)  # fmt: skip
def test_yes_and_no(payload, on, value):
    assert one(payload, unit="bool", on=on) == Record("tank/level", "bool", value)


@pytest.mark.parametrize(
    ("payload", "how", "kind"),
    [
        (b'{"d":1}', {"pointer": "/e"}, "pointer"), (b'{"d":null}', {"pointer": "/d"}, "not-a-number"),
        (b'{"d":true}', {"pointer": "/d"}, "not-a-number"), (b"unavailable", {}, "not-a-number"),
        (b"1e300", {"scale": 1e300}, "not-a-number"), (b"1e999", {}, "not-a-number"), (b"12 cm", {}, "not-a-number"),
        (b"maybe", {"unit": "bool"}, "not-a-number"), (b'{"d":[1]}', {"pointer": "/d"}, "not-a-number"),
        (b"%d" % 10**400, {}, "not-a-number"),
    ],
)  # fmt: skip
def test_what_can_not_be_used_is_a_named_reject(payload, how, kind):
    how = {"pointer": "", "unit": "m"} | how
    try:
        [], [refused] = decode(payload, [mapping("tank/level", **how)])
    except Rejected as whole:
        refused = whole
    assert refused.kind == kind
    assert refused.why.endswith(".")


@pytest.mark.parametrize(
    ("payload", "kind"), [(b'{"d":', "not-json"), (b'{"d":NaN}', "not-a-number"), (b"\xff", "not-utf8"),
                          (b"", "not-json"), (b"[" * 5000, "too-deep"), (b" " * 70000, "too-long")],
)  # fmt: skip
def test_a_payload_that_is_nothing_is_refused_as_a_whole(payload, kind):
    with pytest.raises(Rejected) as refused:
        decode(payload, [mapping("tank/level", "/d", "m")])
    assert refused.value.kind == kind


def test_one_message_serves_several_readings_and_one_bad_value_spoils_no_other():
    maps = [mapping("tank/level", "/l", "cm"), mapping("tank/none", "/x", "cm"), mapping("inlet/total", "/t", "gal")]
    records, rejects = decode(b'{"l":50,"t":2}', maps)
    assert [record.name for record in records] == ["tank/level", "inlet/total"]
    assert [refused.kind for refused in rejects] == ["pointer"]


@given(st.binary(max_size=60))
def test_whatever_comes_nothing_but_rejects_escapes(payload):
    try:
        records, _ = decode(payload, [mapping("a/b", "/d", "m"), mapping("a/c", "", "psi"), mapping("a/d", "", "bool")])
    except Rejected:
        return
    assert all(isinstance(record.value, bool) or math.isfinite(record.value) for record in records)


def test_every_unit_offered_is_taken():
    for unit in UNITS_TAKEN:
        assert mapping("a/b", "", unit).unit
    assert one(b"3", unit="psi").value == pytest.approx(read("3 psi", "pressure"))
    with pytest.raises(ValueError, match="furlong"):
        mapping("a/b", "", "furlong")


# MODBUS Application Protocol V1.1b3 section 4.2: 0x1234 goes out as 0x12 then 0x34; IEEE 754 single 0x3F9DF3B6 is 1.234
REGISTERS = [
    ([0x1234], "u16", False, 0x1234), ([0xFFFF], "s16", False, -1), ([0x8000], "s16", False, -32768),
    ([0x0001, 0x0000], "u32", False, 65536), ([0x0000, 0x0001], "u32", True, 65536),
    ([0xFFFF, 0xFFFE], "s32", False, -2), ([0x3F9D, 0xF3B6], "f32", False, 1.234),
    ([0xF3B6, 0x3F9D], "f32", True, 1.234),
]  # fmt: skip


@pytest.mark.parametrize(("words", "form", "low_first", "value"), REGISTERS)
def test_registers_make_numbers(words, form, low_first, value):
    assert number(words, form, low_first) == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize("form", FORMS)
def test_too_few_registers_are_refused(form):
    with pytest.raises(ValueError, match="registers"):
        number([0] * (count(form) + 1), form)
