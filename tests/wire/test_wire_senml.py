"""SenML against the examples printed in its standard, and against what must never get through."""

import json
import math
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.readings import Record
from monitor.wire.senml import LONGEST_PACK, Rejected, decode


def pack(*rows: dict) -> bytes:
    return json.dumps(rows).encode()


def kind_of(data: bytes) -> str:
    with pytest.raises(Rejected) as refused:
        decode(data)
    assert refused.value.why.endswith(".")
    return refused.value.kind


# RFC 8428 section 5.1.3 (the pack) and 5.1.4 (what it resolves to)
RFC_5_1_3 = """[
  {"bn":"urn:dev:ow:10e2073a01080063","bt":1320067464,"bu":"%RH","v":20},
  {"u":"lon","v":24.30621},
  {"u":"lat","v":60.07965},
  {"t":60,"v":20.3},
  {"u":"lon","t":60,"v":24.30622},
  {"u":"lat","t":60,"v":60.07965},
  {"t":120,"v":20.7},
  {"u":"lon","t":120,"v":24.30623},
  {"u":"lat","t":120,"v":60.07966},
  {"u":"%EL","t":150,"v":98},
  {"t":180,"v":21.2},
  {"u":"lon","t":180,"v":24.30628},
  {"u":"lat","t":180,"v":60.07967}
]"""
RFC_5_1_4 = [
    ("%RH", 1320067464, 20), ("lon", 1320067464, 24.30621), ("lat", 1320067464, 60.07965),
    ("%RH", 1320067524, 20.3), ("lon", 1320067524, 24.30622), ("lat", 1320067524, 60.07965),
    ("%RH", 1320067584, 20.7), ("lon", 1320067584, 24.30623), ("lat", 1320067584, 60.07966),
    ("%EL", 1320067614, 98), ("%RH", 1320067644, 21.2), ("lon", 1320067644, 24.30628),
    ("lat", 1320067644, 60.07967),
]  # fmt: skip


def test_the_printed_pack_resolves_to_the_printed_records():
    assert [(r.name, r.unit, r.stamp, r.value) for r in decode(RFC_5_1_3.encode()).records] == [
        ("urn:dev:ow:10e2073a01080063", unit, stamp, value) for unit, stamp, value in RFC_5_1_4
    ]


def test_base_time_and_time_add_up_and_the_bound_of_absolute_time_is_kept():
    # RFC 8428 section 4.5.3: under 2**28 relative, from there on absolute, which begins on 1978-07-04 21:24:16 UTC
    records = decode(pack(*({"n": "a", "v": 1, "t": t} for t in (268435455, 268435456, 0, -5)))).records
    assert [r.stamp for r in records] == [268435455.0, 268435456.0, 0.0, -5.0]
    assert 2**28 == 268435456
    assert datetime.fromtimestamp(268435456, UTC).isoformat() == "1978-07-04T21:24:16+00:00"
    assert decode(pack({"bt": 1700000000, "n": "a", "v": 1, "t": -2.5})).records[0].stamp == 1699999997.5


def test_base_value_and_base_sum_are_added():
    # RFC 8428 section 4.5.4
    records = decode(
        pack(
            {"bn": "r/", "bt": 1700000000, "bu": "l", "bv": 100, "bs": 10, "n": "v", "v": -20},
            {"n": "v", "t": 1, "v": 5, "s": 2},
        )
    ).records
    assert [r.value for r in records] == [80.0, 105.0]
    assert [r.total for r in records] == [10.0, 12.0]


@pytest.mark.parametrize(
    ("row", "outcome"),
    [  # RFC 8428 sections 4.2, 4.5.1 and 5.1.7
        ({"n": "a"}, "no-value"),
        ({"n": "a", "v": 1, "vs": "x"}, "two-values"),
        ({"n": "a", "v": 1, "vb": True}, "two-values"),
        ({"bn": "urn:dev:ow:10e2073a01080063:"}, ()),
        ({"n": "a", "vb": True}, (Record("a", "bool", True),)),
        ({"n": "_a", "v": 1}, "bad-name"),
        ({"n": "a b", "v": 1}, "bad-name"),
        ({"v": 1}, "bad-name"),
        ({"n": "a", "s": 3}, (Record("a", "", None, 3.0),)),
    ],
)
def test_value_and_name_rules(row, outcome):
    if isinstance(outcome, str):
        assert kind_of(pack(row)) == outcome
    else:
        assert decode(pack(row)).records == outcome


def test_registered_units_pass_and_those_of_water_become_ours():
    # RFC 8428 section 12.1, table 6
    expected = {
        "m": ("m", 1), "m3": ("l", 1000), "l": ("l", 1), "m3/s": ("l/min", 60000), "l/s": ("l/min", 60),
        "Pa": ("Pa", 1), "Cel": ("Cel", 1), "A": ("A", 1), "Hz": ("Hz", 1), "count": ("count", 1),
        "/": ("/", 1), "%RH": ("%RH", 1), "s": ("s", 1), "1/min": ("Hz", 1 / 60),
    }  # fmt: skip
    for unit, (ours, factor) in expected.items():
        record = decode(pack({"n": "a", "u": unit, "v": 2})).records[0]
        assert (record.unit, record.value) == (ours, 2 * factor)


def test_the_labels_are_those_of_the_standard():
    # RFC 8428 section 6, table 4
    row = {
        "bver": 10, "bn": "a/", "bt": 0, "bu": "m", "bv": 0, "bs": 0, "n": "b", "u": "m", "v": 1, "s": 0, "t": 0,
        "ut": 5,
    }  # fmt: skip
    assert decode(pack(row, {"n": "c", "vs": "x"}, {"n": "d", "vb": False}, {"n": "e", "vd": "aGk"})).records == (
        Record("a/b", "m", 1.0, 0.0, 0.0, 5.0),
        Record("a/d", "bool", False, 0.0),
    )


@pytest.mark.parametrize(
    ("unit", "v", "s", "expected"),
    [  # a sum is unit x seconds (RFC 8428 section 4.5.4): for a flow it comes out in litres
        ("m3/s", 0.0005, 0.25, ("l/min", 30.0, 250.0)),
        ("l/s", 0.5, 250, ("l/min", 30.0, 250.0)),
        ("l/min", 30, 15000, ("l/min", 30.0, 250.0)),
        ("mA", 12, None, ("A", 0.012, None)),
        ("mm", 612, None, ("m", 0.612, None)),
        ("kPa", 2.5, None, ("Pa", 2500.0, None)),
    ],
)
def test_secondary_units_of_small_nodes_are_taken_under_version_10(unit, v, s, expected):
    row = {"n": "a", "u": unit, "v": v} | ({} if s is None else {"s": s})
    for version in ({}, {"bver": 10}, {"bver": 26}):
        assert decode(pack(version | row)).records == (Record("a", *expected),)


@pytest.mark.parametrize(
    ("unit", "ours", "factor"),
    [("cm", "m", 0.01), ("km", "m", 1000), ("hPa", "Pa", 100), ("ms", "s", 0.001), ("min", "s", 60), ("h", "s", 3600),
     ("MHz", "Hz", 1e6)],
)  # fmt: skip
def test_other_secondary_units_need_version_26(unit, ours, factor):
    # RFC 8798 section 3 (the factors), RFC 9100 (version 26 = 10 + 2**4)
    assert decode(pack({"bver": 26, "n": "a", "u": unit, "v": 3})).records == (Record("a", ours, 3 * factor),)
    assert kind_of(pack({"n": "a", "u": unit, "v": 3})) == "unit"


def test_the_version_holds_for_the_whole_pack():
    assert len(decode(pack({"bver": 26, "n": "a", "u": "cm", "v": 1}, {"n": "b", "u": "cm", "v": 1})).records) == 2
    assert kind_of(pack({"bver": 11, "n": "a", "v": 1})) == "version"
    assert kind_of(pack({"bver": 5, "n": "a", "v": 1})) == "version"
    assert kind_of(pack({"n": "a", "v": 1}, {"bver": 26, "n": "a", "v": 1})) == "version"


def test_a_base_field_holds_until_it_is_given_again():
    records = decode(
        pack({"bn": "tank/", "bu": "m", "n": "level", "v": 1}, {"n": "two", "v": 2}, {"bn": "in/", "n": "x", "v": 3})
    ).records
    assert [(r.name, r.unit) for r in records] == [("tank/level", "m"), ("tank/two", "m"), ("in/x", "m")]


def test_the_update_time_is_the_longest_silence():
    assert decode(pack({"n": "a", "v": 1, "ut": 30})).records[0].every == 30.0
    assert decode(pack({"n": "a", "v": 1, "ut": 0})).records[0].every is None


def test_text_and_data_are_left_out_and_named():
    decoded = decode(pack({"bn": "tank/", "n": "level", "v": 1}, {"n": "made", "vs": "x:1"}, {"n": "key", "vd": "aGk"}))
    assert [r.name for r in decoded.records] == ["tank/level"]
    assert decoded.left_out == ("tank/made", "tank/key")


def test_a_label_nobody_knows_is_passed_over_unless_it_must_be_understood():
    # RFC 8428 section 4.4: a label that ends in "_" must be understood
    assert decode(pack({"n": "a", "v": 1, "shade": {"x": [1]}})).records == (Record("a", "", 1.0),)
    assert kind_of(pack({"n": "a", "v": 1, "shade_": 1})) == "must-understand"
    assert kind_of(pack({"bn": "a"}, {"n": "b", "v": 1, "x_": None})) == "must-understand"


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"", "not-json"),
        (b"hello", "not-json"),
        (b'[{"n":"a","v":1}', "not-json"),
        (b'[{"n":"a","v":1}] and more', "not-json"),
        (b'[{"n":"a","v":01}]', "not-json"),
        (b'[{"n":"a\nb","v":1}]', "not-json"),
        (b'[{"n":"\\ud800","v":1}]', "not-json"),
        (b'\xef\xbb\xbf[{"n":"a","v":1}]', "not-json"),
        (b'[{"n":"\xff","v":1}]', "not-utf8"),
        (b'[{"n":"a","v":1,"x":"\xc3("}]', "not-utf8"),
        (b"\xff\xfe", "not-utf8"),
        (b"[]", "empty"),
        (b"{}", "wrong-form"),
        (b'{"n":"a","v":1}', "wrong-form"),
        (b"[1]", "wrong-form"),
        (b"null", "wrong-form"),
        (b'[{"n":1,"v":1}]', "wrong-form"),
        (b'[{"n":"a","vb":"true"}]', "wrong-form"),
        (b'[{"n":"a","vb":1}]', "wrong-form"),
        (b'[{"n":"a","v":"0.6"}]', "not-a-number"),
        (b'[{"n":"a","v":null}]', "not-a-number"),
        (b'[{"n":"a","v":true}]', "not-a-number"),
        (b'[{"n":"a","v":NaN}]', "not-a-number"),
        (b'[{"n":"a","v":Infinity}]', "not-a-number"),
        (b'[{"n":"a","v": -Infinity}]', "not-a-number"),
        (b'[{"n":"a","v":1e999}]', "not-a-number"),
        (b'[{"n":"a","v":1' + b"0" * 400 + b"}]", "not-a-number"),
        (b'[{"n":"a","u":"m3","v":1e308}]', "not-a-number"),
        (b'[{"n":"a","u":"m3/s","v":1,"s":1e308}]', "not-a-number"),
        (b'[{"n":"a","bt":1e308,"t":1e308,"v":1}]', "not-a-number"),
        (b'[{"n":"a","t":"2026-11-25T12:00:00Z","v":1}]', "not-a-number"),
        (b'[{"n":"a","v":1,"v":2}]', "twice"),
        (b'[{"n":"a","n":"a","v":1}]', "twice"),
        (b'[{"n":"a\\u003ab","v":1,"v":2}]', "twice"),
        (b'[{"n":"a","v":1,"x":1,"x":1}]', "twice"),
        (b'[{"n":"' + b"a" * 201 + b'","v":1}]', "bad-name"),
        (b'[{"n":"a","u":"' + b"m" * 200 + b'","v":1}]', "unit"),
        (b'[{"n":"a","u":"m\\u0007","v":1}]', "unit"),
        (b'[{"n":"a","v":1,"x":' + b"[" * 30_000, "too-deep"),
        (b'[{"n":"a","v":1,"x":' + b'{"x":' * 9_000, "too-deep"),
        (b'[{"n":"a","v":1,"x":"' + b"x" * 1_000_000 + b'"}]', "too-long"),
    ],
)
def test_a_bad_pack_is_a_named_reject(data, kind):
    assert kind_of(data) == kind


def test_a_pack_that_nests_within_reason_is_read_however_deep_its_unknown_labels():
    deep = b'[{"n":"a","v":1,"x":' + b"[" * 100 + b"]" * 100 + b"}]"
    assert decode(deep).records == (Record("a", "", 1.0),)


@given(st.binary(max_size=400))
def test_any_bytes_give_records_or_a_named_reject(data):
    _only_records_or_a_named_reject(data)


labels = st.sampled_from(
    ["bn", "n", "u", "v", "vb", "s", "t", "ut", "vs", "vd", "bt", "bu", "bv", "bs", "bver", "x", "y_"]
)
plain = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5) | st.sampled_from(["m", "tank/"])
packs = st.lists(st.dictionaries(labels, plain | st.lists(plain, max_size=2), max_size=6), max_size=4)


@given(packs, st.binary(max_size=3), st.integers(0, 50))
def test_anything_like_a_pack_gives_records_or_a_named_reject(rows, garble, where):
    text = json.dumps(rows).encode()
    _only_records_or_a_named_reject(text)
    _only_records_or_a_named_reject(text[:where] + garble + text[where:])


def _only_records_or_a_named_reject(data: bytes) -> None:
    try:
        records = decode(data).records
    except Rejected as refused:
        assert refused.kind, refused.why  # noqa: PT017 either outcome is right, but no other
        return
    assert len(data) <= LONGEST_PACK
    for record in records:
        assert record.value is None or math.isfinite(record.value)
        assert record.total is None or math.isfinite(record.total)
        assert math.isfinite(record.stamp)
        assert record.value is not None or record.total is not None
