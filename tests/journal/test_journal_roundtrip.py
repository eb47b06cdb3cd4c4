"""What is put in comes back: every event, to the last bit and in order, and every change as it was told."""

import itertools
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from journal_events import AT, alarm, day, feeds_as_they_came, forecast, level, stamped

from monitor.journal.blocks import MOST_PACKS, decode, encode, form, from_form, gather, unpack
from monitor.journal.rebuild import changes, rebuild
from monitor.journal.writer import Journal
from monitor.readings import Act, Alive, Pack, Passing, Record, Reject, WallStep


def keep(path, items, batch=None):
    """Put and store, in batches of so many; every batch is a commit."""
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock))
    for number, item in enumerate(items, 1):
        journal.put(item)
        if batch and number % batch == 0:
            journal.step()
    journal.close()
    assert journal.status()[:2] == (True, "")
    assert journal.status()[3:] == (0, 0)


@settings(max_examples=40)
@given(feeds_as_they_came, st.integers(1, 15))
def test_any_feed_is_rebuilt_exactly(events, batch):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        keep(path, events, batch)
        back = list(rebuild(path))
    assert back == events
    assert [type(event) for event in back] == [type(event) for event in events]
    assert [types(event) for event in back] == [types(event) for event in events]


def types(event):
    """True and 1.0 are equal to Python, but not to the pump they speak of."""
    return [type(record.value) for record in event.records] if isinstance(event, Pack) else None


@settings(max_examples=40)
@given(feeds_as_they_came, st.floats(-1.0, 50.0), st.floats(0.0, 50.0))
def test_a_window_is_rebuilt_exactly(events, since_s, length_s):
    since, until = AT + round(since_s, 6), AT + round(since_s + length_s, 6)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        keep(path, events, 7)
        back = list(rebuild(path, since, until))
    assert back == [event for event in events if round(since * 1e6) <= round(event.at * 1e6) < round(until * 1e6)]


def test_each_kind_of_event_comes_back(tmp_path):
    seq, sum_alone = Record("tank/seq", "count", 7.0), Record("inlet/flow", "l/min", None, 0.1)
    events = stamped([(1000, event) for event in [
        Pack(0, "mqtt 1", "tank", (Record("tank/level", "m", 0.1 + 0.2, None, -3.5, 2.0), seq)),
        Pack(0, "mqtt 1", "tank", (Record("tank/level", "m", 0.5),), True),
        Pack(0, "mqtt 1", "inlet", (sum_alone, Record("inlet/flow", "l/min", 26.5, 12.5))),
        Pack(0, "serial 1", "rides", (Record("rides/running", "bool", True), Record("rides/drawing", "bool", False))),
        Pack(0, "serial 1", "rides", ()),
        Alive(0, "mqtt 1", "tank", False, True),
        Reject(0, "serial 1", "crc", "The check does not fit.", "\x00\x01ü…"),
        Act(0, "shelve", "Ana", "leak", {"minutes": 30}),
        Act(0, "packing-up"),
        WallStep(0, 1795603600.5),
        Passing(0),
    ]])  # fmt: skip
    keep(tmp_path / "journal.db", events)
    assert list(rebuild(tmp_path / "journal.db")) == events


def test_forecasts_and_alarms_come_back_as_they_were_told(tmp_path):
    put = [level(AT), alarm(AT + 10), forecast(AT + 10), forecast(AT + 20, None), alarm(AT + 21.5, "acknowledged")]
    put[3] = put[3]._replace(dry_s=None, draw_l_min={"Rides": 1 / 3})
    keep(tmp_path / "journal.db", put)
    back = list(changes(tmp_path / "journal.db"))
    assert [change.line() for change in back] == [change.line() for change in put[1:]]
    assert back[0] == put[1]
    assert list(changes(tmp_path / "journal.db", AT + 20, AT + 21)) == back[2:3]


def test_a_whole_day_of_nodes_comes_back_in_order(tmp_path):
    events = list(day(200))
    keep(tmp_path / "journal.db", events, 57)
    assert list(rebuild(tmp_path / "journal.db")) == events
    assert list(rebuild(tmp_path / "journal.db", AT + 61, AT + 62)) == [e for e in events if AT + 61 <= e.at < AT + 62]


def test_long_silence_and_many_packs_make_new_blocks():
    close = [level(AT + number / 1000) for number in range(MOST_PACKS + 1)]
    assert [len(block.at_us) for block in gather(close)] == [MOST_PACKS, 1]
    assert [len(block.at_us) for block in gather([level(AT), level(AT + 30), level(AT + 31)])] == [2, 1]


@given(st.binary(max_size=80), st.integers(1, 40))
def test_a_damaged_block_is_named_not_misread(data, packs):
    shape = gather([level(AT)])[0].shape
    whole = encode(gather([level(AT + number) for number in range(20)])[0])
    for damaged in (data, whole[:7] + data + whole[7:]):
        assert decoded_or_named(shape, packs, damaged)


def decoded_or_named(shape, packs, data):
    try:
        return len(decode(shape, 0, packs, data).at_us) == packs
    except ValueError as fault:
        return "damaged" in str(fault)


@given(feeds_as_they_came)
def test_blocks_alone_give_back_their_packs(events):
    packs = [event for event in events if isinstance(event, Pack)]
    back = []
    for block in gather(packs):
        stored = decode(from_form(form(block.shape)), block.at_us[0], len(block.at_us), encode(block))
        back += unpack(stored)
    assert sorted(back, key=lambda pack: pack.at) == packs


def test_half_a_surrogate_pair_does_no_harm(tmp_path):
    keep(tmp_path / "journal.db", [Reject(AT, "mqtt 1", "not-utf8", "why", "a\ud800b")])
    assert next(rebuild(tmp_path / "journal.db")).raw == "a?b"


def test_where_time_falls_a_new_run_begins_and_nothing_is_lost(tmp_path):
    path = tmp_path / "journal.db"
    early, late = list(day(3, AT)), list(day(3, AT + 31_536_000))
    keep(path, [*late, *early, *late])
    assert list(rebuild(path)) == [*late, *early, *late]
    assert list(rebuild(path, run=2)) == [*early, *late]
    keep(path, early)
    assert list(rebuild(path, run=3)) == early


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 1e300])
def test_what_has_no_time_is_given_up_and_the_rest_kept(tmp_path, bad):
    path = tmp_path / "journal.db"
    journal = Journal(path)
    events = list(day(2))
    for event in [*events[:5], level(bad), *events[5:]]:
        journal.put(event)
    journal.close()
    assert list(rebuild(path)) == events
    assert journal.status().dropped == 1
    assert "could not be kept" in journal.status().why
