"""Every transition of the state diagram of ANSI/ISA-18.2-2016 / IEC 62682 (diagram from memory), and the delays."""

import json
import math

import pytest

from monitor.alarms.catalogue import ALARMS
from monitor.alarms.lifecycle import Life
from monitor.alarms.refusals import Refused

AT_ONCE = ALARMS["leak"]._replace(on_delay_s=0.0, off_delay_s=0.0)
CRITICAL = ALARMS["dry-soon"]._replace(off_delay_s=0.0)

ACTS = {
    "true": lambda life, at: life.see(at, True),
    "false": lambda life, at: life.see(at, False),
    "unknown": lambda life, at: life.see(at, None),
    "acknowledge": lambda life, at: life.acknowledge(at),
    "shelve": lambda life, at: life.shelve(at, 60.0),
    "unshelve": lambda life, at: life.unshelve(at),
    "suppress": lambda life, at: life.suppress(at, True),
    "unsuppress": lambda life, at: life.suppress(at, False),
    "fold": lambda life, at: life.fold(at, True),
    "release": lambda life, at: life.fold(at, False),
    "out": lambda life, at: life.take_out_of_service(at, True),
    "in": lambda life, at: life.take_out_of_service(at, False),
    "a minute": lambda life, at: life.see(at + 60.0, None),
}

NORMAL = "normal"
UNACK = "unacknowledged"
ACK = "acknowledged"
RTN = "returned to normal unacknowledged"
SHELVED = "shelved"
BY_DESIGN = "suppressed by design"
OUT = "out of service"

# what was done, then for each further act the state it leads to; an act that isn't named changes nothing
DIAGRAM = [
    ("", NORMAL, {"true": UNACK, "shelve": SHELVED, "suppress": BY_DESIGN, "fold": BY_DESIGN, "out": OUT}),
    (
        "true",
        UNACK,
        {"false": RTN, "acknowledge": ACK, "shelve": SHELVED, "suppress": BY_DESIGN, "fold": BY_DESIGN, "out": OUT},
    ),
    (
        "true, acknowledge",
        ACK,
        {"false": NORMAL, "shelve": SHELVED, "suppress": BY_DESIGN, "fold": BY_DESIGN, "out": OUT},
    ),
    (
        "true, false",
        RTN,
        {
            "true": UNACK, "acknowledge": NORMAL, "shelve": SHELVED, "suppress": BY_DESIGN, "fold": BY_DESIGN,
            "out": OUT,
        },
    ),
    # put aside while normal: the way back is normal
    ("shelve", SHELVED, {"unshelve": NORMAL, "a minute": NORMAL, "suppress": BY_DESIGN, "fold": BY_DESIGN, "out": OUT}),
    ("suppress", BY_DESIGN, {"unsuppress": NORMAL, "out": OUT}),
    ("fold", BY_DESIGN, {"release": NORMAL, "out": OUT}),
    ("out", OUT, {"in": NORMAL}),
    # put aside while it stands: the way back is unacknowledged, told anew
    ("true, shelve", SHELVED, {"unshelve": UNACK, "a minute": UNACK, "suppress": BY_DESIGN, "fold": BY_DESIGN,
                               "out": OUT}),
    ("true, suppress", BY_DESIGN, {"unsuppress": UNACK, "out": OUT}),
    ("true, out", OUT, {"in": UNACK}),
    ("true, acknowledge, shelve", SHELVED, {"unshelve": UNACK, "a minute": UNACK, "suppress": BY_DESIGN,
                                            "fold": BY_DESIGN, "out": OUT}),
    ("true, acknowledge, suppress", BY_DESIGN, {"unsuppress": UNACK, "out": OUT}),
    ("true, acknowledge, out", OUT, {"in": UNACK}),
    # a follower that is released is told anew only if it had not been acknowledged, or rose while it was folded
    ("true, fold", BY_DESIGN, {"release": UNACK, "out": OUT}),
    ("true, acknowledge, fold", BY_DESIGN, {"release": ACK, "out": OUT}),
    ("fold, true", BY_DESIGN, {"release": UNACK, "out": OUT}),
    ("true, acknowledge, fold, false, true", BY_DESIGN, {"release": UNACK, "out": OUT}),
    ("true, fold, false", BY_DESIGN, {"release": NORMAL, "out": OUT}),
    # judged underneath while put aside
    ("shelve, true", SHELVED, {"unshelve": UNACK, "a minute": UNACK, "suppress": BY_DESIGN, "fold": BY_DESIGN,
                               "out": OUT}),
    ("suppress, true", BY_DESIGN, {"unsuppress": UNACK, "out": OUT}),
    ("out, true", OUT, {"in": UNACK}),
    ("true, shelve, false", SHELVED, {"unshelve": NORMAL, "a minute": NORMAL, "suppress": BY_DESIGN,
                                      "fold": BY_DESIGN, "out": OUT}),
    ("true, suppress, false", BY_DESIGN, {"unsuppress": NORMAL, "out": OUT}),
    ("true, out, false", OUT, {"in": NORMAL}),
    ("true, false, shelve", SHELVED, {"unshelve": NORMAL, "a minute": NORMAL, "suppress": BY_DESIGN,
                                      "fold": BY_DESIGN, "out": OUT}),
    # one over the other: out of service, then by design, then shelved
    ("shelve, suppress", BY_DESIGN, {"unsuppress": SHELVED, "out": OUT}),
    ("suppress, fold", BY_DESIGN, {"out": OUT}),
    ("shelve, out", OUT, {"in": SHELVED}),
    ("suppress, out", OUT, {"in": BY_DESIGN}),
    ("true, fold, shelve", BY_DESIGN, {"release": SHELVED, "out": OUT}),
    ("true, acknowledge, fold, shelve, unshelve", BY_DESIGN, {"release": UNACK, "out": OUT}),
]  # fmt: skip
TRANSITIONS = [
    pytest.param(done, before, act, after.get(act, before), id=f"{done or 'nothing'} | {act}")
    for done, before, after in DIAGRAM
    for act in ACTS
]


def lived(done, alarm=AT_ONCE):
    life = Life(alarm)
    for at, act in enumerate(filter(None, done.split(", "))):
        ACTS[act](life, float(at))
    return life


@pytest.mark.parametrize(("done", "before", "act", "after"), TRANSITIONS)
def test_the_state_diagram(done, before, act, after):
    life = lived(done)
    assert life.state == before
    ACTS[act](life, 10.0)
    assert life.state == after


def test_the_table_begins_in_every_state():
    assert {before for _, before, _ in DIAGRAM} == {NORMAL, UNACK, ACK, RTN, SHELVED, BY_DESIGN, OUT}


@pytest.mark.parametrize("done", ["", "true", "true, acknowledge", "true, false"])
@pytest.mark.parametrize("act", ["shelve", "suppress", "fold", "out"])
def test_a_critical_alarm_refuses_to_be_put_aside(done, act):
    life = lived(done, CRITICAL)
    before = life.state
    with pytest.raises(Refused, match=r"never put aside.*Acknowledge it") as refused:
        ACTS[act](life, 10.0)
    assert refused.value.reason == "critical"
    assert life.state == before


@pytest.mark.parametrize("for_s", [0.0, -1.0, math.inf, math.nan])
def test_shelving_always_has_an_end(for_s):
    life = lived("true")
    with pytest.raises(Refused, match="no time was given"):
        life.shelve(10.0, for_s)
    assert life.state == UNACK


def test_shelving_too_long_is_refused_and_says_how_long_is_allowed():
    life = lived("true")
    with pytest.raises(Refused, match="500 min is longer than the 480 min"):
        life.shelve(10.0, 30_000.0)
    life.shelve(10.0, 28_800.0)
    assert life.shelved_until == 28_810.0


def test_shelving_again_changes_the_end():
    life = lived("true, shelve")
    life.shelve(2.0, 10.0)
    life.see(11.9, True)
    assert life.state == SHELVED
    life.see(12.0, True)
    assert life.state == UNACK


# -- delays: what the condition says at each second, and whether the alarm stands after it -------------------

DELAYED = ALARMS["leak"]._replace(on_delay_s=3.0, off_delay_s=2.0)


def stands(said, alarm=DELAYED):
    life, shown = Life(alarm), ""
    for at, what in enumerate(said):
        life.see(float(at), {"T": True, "F": False, "?": None}[what])
        shown += "#" if life.active else "."
    return shown


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("TTTTT", "...##"),  # three seconds of it
        ("TTTFTTTT", ".......#"),  # a false in between begins anew
        ("TT??TTTT", "......##"),  # unknown seconds count for nothing, and take nothing away
        ("T?T?T?T?T?", ".........."),  # never seen to persist
        ("TTTT????", "...#####"),  # what stands is held by an unknown
        ("TTTTFF?F", "...#####"),  # and an unknown breaks the way down
        ("TTTTFFF", "...###."),
        ("TTTTFTFTFF", "...#######"),
        ("TTTTFFFT", "...###.."),
    ],
)
def test_delays(said, shown):
    assert stands(said) == shown


def test_without_a_delay_it_turns_at_once():
    assert stands("FTTFTF?", AT_ONCE) == ".##.#.."


def test_since_is_when_the_state_began_and_acknowledging_makes_it_no_younger():
    life = Life(AT_ONCE)
    assert life.since is None
    life.see(5.0, True)
    life.acknowledge(8.0)
    assert life.since == 5.0
    life.see(9.0, False)
    assert (life.state, life.since) == (NORMAL, 9.0)
    life.see(10.0, True)
    life.see(11.0, False)
    life.acknowledge(12.0)
    assert life.since == 12.0


# -- over a restart ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("done", [done for done, _, _ in DIAGRAM])
def test_saved_and_restored_it_lives_on_alike(done):
    life = lived(done)
    again = Life.restored(AT_ONCE, json.loads(json.dumps(life.save())))
    for at, act in enumerate(("unknown", "release", "unsuppress", "false", "true", "in", "a minute", "acknowledge")):
        ACTS[act](life, 20.0 + at)
        ACTS[act](again, 20.0 + at)
        assert (again.state, again.since) == (life.state, life.since)


@pytest.mark.parametrize("aside", ["shelve", "suppress", "fold", "out"])
@pytest.mark.parametrize(("done", "state"), [("true", UNACK), ("true, acknowledge", UNACK), ("", NORMAL)])
def test_an_alarm_that_became_critical_comes_back_in_the_open(aside, done, state):
    saved = lived(f"{done}, {aside}").save()
    assert Life.restored(CRITICAL, saved).state == state


def test_a_key_of_another_version_is_left_out():
    assert Life.restored(AT_ONCE, lived("true").save() | {"colour": "red"}).state == UNACK


def test_delays_begin_anew_after_a_gap():
    life = Life(DELAYED)
    life.see(0.0, True)
    life.see(2.0, True)
    life.resume(5000.0)
    life.see(5000.0, True)
    assert not life.active
    life.see(5003.0, True)
    assert life.active


def test_a_shelving_ends_over_a_gap_that_outlasts_it_or_on_a_clock_that_has_fallen_far():
    for now, state in ((30.0, SHELVED), (500.0, UNACK), (-1e6, UNACK)):
        life = lived("true, shelve")
        life.resume(now)
        assert life.state == state


def test_nothing_is_younger_than_now_on_a_clock_that_has_fallen():
    life = lived("true")
    life.resume(-100.0)
    assert life.since == -100.0


def test_it_shows_its_state():
    assert repr(lived("true")) == "<Life leak: unacknowledged, since 0.0>"
