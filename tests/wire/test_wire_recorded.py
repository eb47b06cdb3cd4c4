import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.readings import Act, Alive, Pack, Passing, Record, Reject, WallStep
from monitor.wire.recorded import read_line, write_event
from monitor.wire.rejected import Rejected

AT = 1795600000.123456

EVENTS = [
    Pack(AT, "mqtt 1", "tank", (Record("tank/level", "m", 0.612), Record("tank/seq", "count", 7.0))),
    Pack(AT, "mqtt 1", "tank", (Record("tank/level", "m", 0.1 + 0.2, stamp=-3.5, every=2.0),), retained=True),
    Pack(AT, "serial 1", "inlet", (Record("inlet/flow", "l/min", 26.5, total=12.5), Record("inlet/total", "l", 4.0))),
    Pack(AT, "serial 1", "inlet", (Record("inlet/flow", "l/min", None, total=0.1),)),
    Pack(AT, "serial 1", "rides", (Record("rides/running", "bool", True), Record("rides/drawing", "bool", False))),
    Pack(AT, "serial 1", "box", (Record("tank/level", "m", 1.0), Record("inlet/total", "l", 2.0))),
    Pack(AT, "serial 1", "tank", (Record("tank/heading", "lon", 24.3), Record("tank/what", "", 1.0))),
    Pack(AT, "mqtt 1", "tank", ()),
    Alive(AT, "mqtt 1", "tank", True, True),
    Alive(AT, "mqtt 1", "tank", False),
    Reject(AT, "serial 1", "crc", "The check does not fit.", '[{"n":"a\\x00"…'),
    Act(AT, "acknowledge", "Ana", "water-low"),
    Act(AT, "shelve", "", "leak", {"minutes": 30}),
    Act(AT, "it-stands-here", "Ana", None, {"volume_l": 500.25}),
    WallStep(AT, 1795603600.5),
    Passing(AT),
]


@pytest.mark.parametrize("event", EVENTS, ids=lambda e: type(e).__name__)
def test_what_is_written_is_read_back_to_the_last_bit(event):
    line = write_event(event)
    assert line.endswith(b"\n")
    assert line.count(b"\n") == 1
    assert read_line(line, "none") == event
    assert type(read_line(line, "none")) is type(event)
    assert write_event(read_line(line, "none")) == line


def test_the_lines_of_the_contract_are_read():
    lines = {
        b'{"at": 1795600000.0, "node": "tank", "pack": [{"bn": "tank/", "n": "level", "u": "m", "v": 0.612}]}':
            Pack(1795600000.0, "first", "tank", (Record("tank/level", "m", 0.612),)),
        b'{"at": 1795600003.2, "node": "tank", "alive": "gone"}': Alive(1795600003.2, "first", "tank", False),
        b'{"at": 1795600004.0}': Passing(1795600004.0),
        b'{"at": 1795600004.0, "feed": "serial 1", "raw": "#!"}':
            Reject(1795600004.0, "serial 1", "unnamed", "", "#!"),
        b'{"at": 1795600005, "act": "acknowledge", "alarm": "water-low", "by": "Ana"}':
            Act(1795600005.0, "acknowledge", "Ana", "water-low"),
        b'{"at": 1795600006.0, "wall": 1795700000.0}': WallStep(1795600006.0, 1795700000.0),
    }
    for line, event in lines.items():
        assert read_line(line, "first") == event


def test_a_recorded_line_may_carry_any_senml():
    rows = b'[{"bn":"in/","bu":"l/s","n":"flow","v":0.5,"s":3},{"n":"p","u":"kPa","v":2}]'
    line = b'{"at":1.0,"feed":"a","node":"in","pack":' + rows + b"}"
    assert read_line(line, "") == Pack(
        1.0, "a", "in", (Record("in/flow", "l/min", 30.0, 3.0), Record("in/p", "Pa", 2000.0))
    )


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        (b"", "not-json"),
        (b"\xff", "not-utf8"),
        (b"[]", "wrong-form"),
        (b"{}", "wrong-form"),
        (b'{"at": "1"}', "not-a-number"),
        (b'{"at": NaN}', "not-a-number"),
        (b'{"at": 1e300}', "wrong-form"),
        (b'{"at": 1, "at": 2}', "twice"),
        (b'{"at": 1, "new_": 2}', "must-understand"),
        (b'{"at": 1, "wall": 2, "raw": ""}', "wrong-form"),
        (b'{"at": 1, "node": "tank", "alive": "dead"}', "alive"),
        (b'{"at": 1, "node": "rig", "alive": "up"}', "rig-name"),
        (b'{"at": 1, "alive": "up"}', "bad-name"),
        (b'{"at": 1, "node": "tank", "pack": [{"n": "tank/level", "v": "0.6"}]}', "not-a-number"),
        (b'{"at": 1, "node": "tank", "pack": []}', "empty"),
        (b'{"at": 1, "raw": "' + b"x" * 300_000 + b'"}', "too-long"),
        (b'{"at": 1, "x": ' + b"[" * 100_000, "too-deep"),
    ],
)
def test_a_bad_line_is_a_named_reject(line, kind):
    with pytest.raises(Rejected) as refused:
        read_line(line, "")
    assert refused.value.kind == kind
    assert refused.value.why


numbers = st.floats(allow_nan=False, allow_infinity=False, width=64).map(lambda x: x if abs(x) < 1e290 else 0.5)
units = st.sampled_from(["m", "mm", "m3", "l", "m3/s", "l/s", "l/min", "Pa", "kPa", "A", "mA", "count", "Hz", "", "V"])


@st.composite
def wire_records(draw):
    row = {"n": draw(st.sampled_from(["level", "total", "flow", "a/b"])), "u": draw(units)}
    if draw(st.booleans()):
        row["v"] = draw(numbers)
    else:
        row["s"] = draw(numbers)
    for key in draw(st.sets(st.sampled_from(["s", "t", "ut", "bv", "bs"]))):
        row[key] = draw(numbers)
    return row


@given(st.lists(wire_records(), min_size=1, max_size=5))
def test_any_pack_off_the_wire_survives_the_recording_to_the_last_bit(rows):
    line = json.dumps({"at": 1.5, "node": "tank", "pack": [{"bn": "tank/", **rows[0]}, *rows[1:]]}).encode()
    event = read_line(line, "mqtt 1")
    assert read_line(write_event(event), "other") == event


@given(st.binary(max_size=300))
def test_any_bytes_are_an_event_or_a_named_reject(line):
    try:
        event = read_line(line, "feed")
    except Rejected as refused:
        assert refused.kind, refused.why  # noqa: PT017 either outcome is right, but no other
    else:
        assert read_line(write_event(event), "feed") == event
