"""What is due by engine hours and by date, and what is refused."""

import json

import pytest
from trailer import BEGIN, RIG, Watched

from monitor.alarms.refusals import Refused
from monitor.core import Core
from monitor.readings import Act
from monitor.rig.faults import RigFaults
from monitor.rig.load import parse

OIL = '[[service]]\nname = "oil"\npump = "Rides"\nevery_hours = 0.1\nevery_months = 12\n'
DAY_S = 86_400.0


def serviced(text=OIL):
    return parse(RIG.replace("CLOCK", "arrival") + text)


def word(core, wall):
    (oil,) = core.servicing.standing(wall, None)["services"]
    return oil["due"]


def test_due_by_hours_until_it_is_done_and_a_restart_takes_nothing():
    watched = Watched(900.0, core=Core(serviced()))
    assert word(watched.core, BEGIN) == "fine"
    watched.runs(400, "Rides")
    assert word(watched.core, BEGIN + 400.0) == "due"
    watched.does("serviced", service="oil")
    kept = Core(serviced(), json.loads(json.dumps(watched.core.save())))
    assert word(kept, BEGIN + 500.0) == "fine"
    assert word(kept, BEGIN + 370 * DAY_S) == "due"


def test_a_service_nobody_named_is_refused():
    with pytest.raises(Refused, match="no such service"):
        Core(serviced()).acts.check(Act(BEGIN, "serviced", "Ann", None, {"service": "belt"}))


def test_a_wrong_service_is_a_named_fault():
    with pytest.raises(RigFaults, match="every_hours"):
        serviced(OIL.replace("0.1", "-1"))


def test_frost_asks_for_something_tonight():
    assert Core(serviced()).servicing.standing(BEGIN, -2.0)["freeze"]["word"] == "freezes"


def test_the_rig_file_says_when_it_was_last_done():
    long_ago = Core(serviced(OIL + 'last_done = 2025-11-01\n'))
    assert word(long_ago, BEGIN) == "due"  # BEGIN lies in November 2026
    assert word(Core(serviced(OIL + 'last_done = "2027-11-01"\n')), BEGIN) == "fine"
    with pytest.raises(RigFaults, match="last_done"):
        serviced(OIL + 'last_done = "soon"\n')


def test_the_coldest_of_the_last_day_stands_for_the_coming_night_and_a_restart_keeps_it():
    watch = Core(serviced()).servicing
    for hour, air_c in enumerate((-1.0, 4.0, 9.0, 12.0)):
        watch.feel(BEGIN + 3600.0 * hour, air_c)
    kept = Core(serviced()).servicing
    kept.restore(json.loads(json.dumps(watch.save())))
    said = kept.tonight(BEGIN + 4 * 3600.0, 12.0)
    assert (said["word"], said["coldest_c"]) == ("freezes", -1.0)
    assert kept.tonight(BEGIN + 3 * DAY_S, 12.0)["word"] == "no"
    assert kept.tonight(BEGIN + 3 * DAY_S, None)["word"] == "unknown"
