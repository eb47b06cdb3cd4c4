"""The catalogue against the table of alarms that stands fixed, and against the rules it has to keep."""

from typing import get_args

import pytest

from monitor.alarms.catalogue import ALARMS, MINUTE_S, MODES, AlarmName
from monitor.alarms.lifecycle import State

# the table that outside programs rely on: name, priority
TABLE = {
    "dry": "critical",
    "dry-soon": "critical",
    "pump-starved": "critical",
    "water-low": "high",
    "supply-lost": "high",
    "overfill": "high",
    "level-signal": "high",
    "supply-signal": "high",
    "node-lost": "high",
    "bypass-hot": "high",
    "draw-low": "high",
    "draw-high": "low",
    "leak": "medium",
    "tow-heavy": "medium",
    "freeze": "medium",
    "journal": "low",
}
CRITICAL = [name for name, priority in TABLE.items() if priority == "critical"]
OTHERS = [name for name, priority in TABLE.items() if priority != "critical"]


def test_every_alarm_of_the_table_and_no_other():
    assert {name: alarm.priority for name, alarm in ALARMS.items()} == TABLE
    assert set(get_args(AlarmName)) == set(TABLE)
    assert all(alarm.name == name for name, alarm in ALARMS.items())


def test_states_are_named_to_the_letter():
    # ANSI/ISA-18.2-2016 / IEC 62682:2014, alarm state diagram
    assert get_args(State) == (
        "normal",
        "unacknowledged",
        "acknowledged",
        "returned to normal unacknowledged",
        "shelved",
        "suppressed by design",
        "out of service",
    )


@pytest.mark.parametrize("name", CRITICAL)
def test_a_critical_alarm_is_never_delayed_shelved_suppressed_or_folded(name):
    alarm = ALARMS[name]
    assert alarm.critical
    assert (alarm.on_delay_s, alarm.shelve_max_s, alarm.quiet_when, alarm.follows) == (0.0, 0.0, frozenset(), ())
    assert alarm.respond_s <= 2 * MINUTE_S


@pytest.mark.parametrize("name", OTHERS)
def test_any_other_alarm_can_be_shelved_with_an_end_and_is_quiet_while_laid_up(name):
    alarm = ALARMS[name]
    assert not alarm.critical
    assert 0 < alarm.shelve_max_s <= 8 * 3600
    assert "laid up" in alarm.quiet_when
    assert alarm.quiet_when <= set(MODES)


def test_what_the_rig_is_doing_quietens_what_it_explains():
    assert "towing" in ALARMS["leak"].quiet_when
    assert "dumping" in ALARMS["leak"].quiet_when
    assert "float valve shut" in ALARMS["supply-lost"].quiet_when
    assert "float valve shut" not in ALARMS["overfill"].quiet_when  # it is the valve that fails
    assert all(ALARMS[name].quiet_when == {"laid up"} for name in ("level-signal", "supply-signal", "node-lost"))


@pytest.mark.parametrize("alarm", ALARMS.values(), ids=lambda alarm: alarm.name)
def test_every_alarm_settles_and_leaves_time_to_respond(alarm):
    assert alarm.respond_s > 0
    assert alarm.off_delay_s > 0
    assert 0 <= alarm.on_delay_s < alarm.respond_s


def test_a_follower_lets_its_cause_speak_first():
    for alarm in ALARMS.values():
        for follows in alarm.follows:
            assert alarm.on_delay_s > ALARMS[follows.cause].on_delay_s


def test_no_alarm_follows_itself_by_any_way_round():
    def causes(name, passed=()):
        assert name not in passed
        for follows in ALARMS[name].follows:
            causes(follows.cause, (*passed, name))

    for name in ALARMS:
        causes(name)


def test_a_dead_node_explains_its_signals_and_a_starved_pump_the_doubt_about_the_gauge():
    def explained(name):
        return {follows.cause for follows in ALARMS[name].follows}

    assert {name for name in ALARMS if "node-lost" in explained(name)} == {
        "level-signal",
        "supply-signal",
        "supply-lost",
    }
    assert "pump-starved" in explained("level-signal")
    assert "level-signal" not in explained("leak")  # a leak and a doubtful gauge are two things to look at
