"""The same readings, the same answers: to the byte, however time is told to the core."""

import json
from random import Random

import pytest
from trailer import BEGIN, Trailer, Watched, played, rig

from monitor.changes import Forecast
from monitor.core import Core
from monitor.core.standing import standing
from monitor.readings import Passing


@pytest.fixture(scope="module")
def stretch():
    """A quarter of an hour and more: work, pauses, a tap that comes and goes, a lost level, a person's touches."""
    trailer, random = Trailer(800.0, level_hz=3), Random(4)
    for minute in range(16):
        drawing = [name for name in ("Rides", "Stalls") if random.random() < 0.6]
        tap = 15.0 if 4 < minute < 12 else 0.0
        trailer.runs(60, *drawing, tap=tap, silent=("tank",) if 8 <= minute < 10 else ())
        if minute == 11:
            trailer.does("it-stands-here", volume_l=trailer.volume_l)
    return trailer.events


def told(changes):
    return "\n".join(json.dumps(change.line(), ensure_ascii=False) for change in changes)


def test_the_same_events_twice_give_the_same_bytes(stretch):
    first = told(played(stretch))
    assert first == told(played(stretch))
    assert first.count('"forecast"') > 90


def test_passing_lines_added_or_left_out_change_nothing(stretch):
    random = Random(1)
    bare = [event for event in stretch if not isinstance(event, Passing)]
    more = list(bare)
    for _ in range(700):
        more.append(Passing(random.uniform(stretch[0].at, stretch[-1].at)))
    more.sort(key=lambda event: event.at)
    more.append(stretch[-1])
    assert told(played(more)) == told(played([*bare, stretch[-1]])) == told(played(stretch))


def test_ticks_do_not_depend_on_how_the_core_is_advanced(stretch):
    """Live, the daemon advances many times a second; a replay goes from event to event."""
    core, random, changes = Core(rig()), Random(2), []
    for event in stretch:
        if core.now is not None:
            for share in sorted(random.random() for _ in range(random.randrange(3))):
                changes += core.advance(core.now + share * (event.at - core.now))
        changes += core.take(event)
    assert told(changes) == told(played(stretch))


def test_looking_changes_nothing(stretch):
    core, changes = Core(rig()), []
    for k, event in enumerate(stretch):
        changes += core.take(event)
        if k % 37 == 0:
            json.dumps(standing(core, event.at))
            core.save()
    assert told(changes) == told(played(stretch))


def test_forecasts_come_on_the_whole_ten():
    watched = Watched().runs(100)
    assert [f.at for f in watched.forecasts] == [BEGIN + 10 * k for k in range(1, 11)]


def test_time_alone_moves_the_core_on():
    watched = Watched().runs(30)
    changes = watched.core.advance(watched.at + 60.0)
    assert [c.at for c in changes if isinstance(c, Forecast)] == [BEGIN + 40 + 10 * k for k in range(6)]
    assert any(getattr(c, "alarm", "") == "node-lost" for c in changes)


def test_time_that_falls_or_stands_still_ticks_nothing():
    core = Core(rig())
    core.advance(BEGIN)
    core.advance(BEGIN + 5.5)
    assert core.advance(BEGIN + 2.0) == []
    assert core.now == BEGIN + 5.0


def test_after_a_leap_of_hours_the_level_leads():
    """The computer slept: nobody ticks through the night, and what was believed is no reason to doubt the level."""
    watched = Watched(600.0).runs(120)
    watched.at += 8 * 3600.0
    watched.volume_l = 950.0
    watched.runs(5)
    assert abs(watched.off_l) < 3 * watched.belief.volume_sd_l
    watched.runs(60)
    assert abs(watched.off_l) < 10.0
