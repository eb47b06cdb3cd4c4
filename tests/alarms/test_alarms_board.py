"""All alarms together: followers, modes, two subjects of one alarm, what stands, and what survives."""

import json

import pytest

from monitor.alarms.board import UNKNOWN, Board, Condition
from monitor.alarms.by_name import ByName
from monitor.alarms.refusals import Refused

TRUE, FALSE = Condition(True), Condition(False)
NODE = Condition(True, {"age_s": 7.0}, "silent", node="tank")
LEVEL = Condition(True, None, "missing", node="tank")


class Trailer:
    """A board whose conditions stay as they were last said, looked at every second."""

    def __init__(self, board=None):
        self.board = board or Board()
        self.at = 1000.0
        self.said = {}
        self.modes = frozenset()

    def says(self, condition, *keys, for_s=0.0):
        """Say it of some alarms, and let `for_s` seconds pass; gives all changes as (alarm, subject, state)."""
        self.said |= {key if isinstance(key, tuple) else (key, ""): condition for key in keys}
        return self.passes(for_s)

    def passes(self, for_s):
        changes = []
        for _ in range(int(for_s) + 1):
            self.at += 1.0
            changes += self.board.update(self.at, self.said, self.modes)
        return [(change.alarm, change.subject, change.state) for change in changes]

    def does(self, *modes, for_s=0.0):
        self.modes = frozenset(modes)
        return self.passes(for_s)

    def shown(self):
        return [(one["alarm"], one["state"]) for one in self.board.standing()]


@pytest.fixture
def trailer():
    return Trailer()


# -- one alarm ----------------------------------------------------------------------------------------------


def test_a_change_says_when_what_how_urgent_what_was_told_and_with_what_figures():
    board = Board("es")
    condition = Condition(True, {"low_l": 130.0, "flat_out_l_min": 49.0}, time_s=95.0)
    (change,) = board.update(5.0, {("dry-soon", ""): condition})
    assert (change.at, change.alarm, change.priority, change.state) == (5.0, "dry-soon", "critical", "unacknowledged")
    assert change.values == {"low_l": 130.0, "flat_out_l_min": 49.0}
    assert change.told.startswith("Casi seco: suelte gatillos. Suelte los gatillos.")
    (change,) = board.acknowledge(6.0, "dry-soon", by="Ana's tablet")
    assert (change.state, change.by, change.told) == ("acknowledged", "Ana's tablet", "")
    assert change.values == {"low_l": 130.0, "flat_out_l_min": 49.0}


def test_what_stands_is_shown_with_all_that_a_page_needs(trailer):
    trailer.says(Condition(True, None, "level repeats", time_s=0.0), ("pump-starved", "Rides"))
    (one,) = trailer.board.standing()
    assert one == {
        "alarm": "pump-starved", "priority": "critical", "state": "unacknowledged", "since": 1001.0,
        "pump": "Rides", "signal": None, "node": None, "followers": [], "time_s": 0.0,
        "variant": "level repeats", "under": None, "shelved_until": None, "shelve_max_s": 0.0,
    }  # fmt: skip
    trailer.says(Condition(False, None, "another"), ("pump-starved", "Rides"), for_s=16)
    (one,) = trailer.board.standing()
    assert (one["state"], one["time_s"], one["variant"]) == (
        "returned to normal unacknowledged",
        None,
        "level repeats",
    )
    json.dumps(one)


def test_the_time_to_respond_is_the_catalogues_where_the_condition_brings_none(trailer):
    trailer.says(TRUE, "overfill", for_s=6)
    assert trailer.board.standing()[0]["time_s"] == 180.0


def test_what_stands_is_sorted_by_priority_then_by_age_the_oldest_first(trailer):
    trailer.says(TRUE, "journal")
    trailer.says(TRUE, ("node-lost", "inlet"))
    trailer.says(TRUE, ("node-lost", "tank"))
    trailer.says(TRUE, "dry-soon")
    trailer.says(TRUE, ("dry", ""))
    trailer.board.acknowledge(trailer.at, "node-lost", "inlet")
    assert [(one["alarm"], one["node"]) for one in trailer.board.standing()] == [
        ("dry-soon", None),
        ("dry", None),
        ("node-lost", "inlet"),
        ("node-lost", "tank"),
        ("journal", None),
    ]


def test_an_unknown_condition_holds_what_stands_and_raises_nothing(trailer):
    trailer.says(TRUE, "dry-soon")
    assert trailer.says(UNKNOWN, "dry-soon", "dry", "leak", for_s=3600) == []
    assert trailer.shown() == [("dry-soon", "unacknowledged")]
    del trailer.said["dry-soon", ""]  # left out is unknown too
    assert trailer.passes(600) == []
    assert trailer.says(FALSE, "dry-soon", for_s=31) == [("dry-soon", "", "returned to normal unacknowledged")]


def test_a_board_shows_what_stands(trailer):
    assert repr(trailer.board) == "<Board of 0: all normal>"
    trailer.says(TRUE, "dry-soon")
    assert repr(trailer.board) == "<Board of 1: dry-soon unacknowledged>"


# -- followers ----------------------------------------------------------------------------------------------


def test_a_dead_node_is_one_alarm_with_its_followers_under_it(trailer):
    changes = trailer.says(NODE, ("node-lost", "tank"))
    changes += trailer.says(LEVEL, ("level-signal", "tank/level"), for_s=60)
    assert changes == [
        ("node-lost", "tank", "unacknowledged"),
        ("level-signal", "tank/level", "suppressed by design"),
    ]
    cause, follower = trailer.board.standing()
    assert cause["followers"] == ["level-signal"]
    assert (follower["under"], follower["signal"], follower["node"]) == ("node-lost", "tank/level", "tank")


def test_a_signal_of_another_node_does_not_follow(trailer):
    trailer.says(NODE._replace(node="inlet"), ("node-lost", "inlet"))
    trailer.says(LEVEL, ("level-signal", "tank/level"), for_s=5)
    trailer.says(LEVEL._replace(node=""), ("level-signal", "other/level"), for_s=5)
    assert [state for _, state in trailer.shown()] == ["unacknowledged"] * 3


def test_a_frozen_level_is_no_follower_of_its_node(trailer):
    trailer.says(NODE, ("node-lost", "tank"))
    trailer.says(LEVEL._replace(variant="frozen"), ("level-signal", "tank/level"), for_s=5)
    assert [state for _, state in trailer.shown()] == ["unacknowledged"] * 2


def test_a_follower_is_released_when_its_cause_clears_and_it_persists(trailer):
    trailer.says(NODE, ("node-lost", "tank"))
    trailer.says(LEVEL, ("level-signal", "tank/level"), for_s=5)
    changes = trailer.says(FALSE, ("node-lost", "tank"), for_s=15)
    assert changes == [
        ("level-signal", "tank/level", "unacknowledged"),
        ("node-lost", "tank", "returned to normal unacknowledged"),
    ]


def test_a_follower_that_clears_with_its_cause_was_never_told(trailer):
    trailer.says(NODE, ("node-lost", "tank"))
    trailer.says(LEVEL, ("level-signal", "tank/level"), for_s=5)
    changes = trailer.says(FALSE, ("level-signal", "tank/level"), for_s=16)
    assert changes == [("level-signal", "tank/level", "normal")]


@pytest.mark.parametrize("put_aside", ["shelve", "take_out_of_service", "laid up"])
def test_a_cause_that_is_put_aside_carries_no_followers(trailer, put_aside):
    trailer.says(TRUE, "supply-lost", for_s=6)
    trailer.says(TRUE, ("supply-signal", "inlet/total"), for_s=4)
    assert ("supply-lost", "suppressed by design") in trailer.shown()
    if put_aside == "shelve":
        changes = trailer.board.shelve(trailer.at, "supply-signal", 600.0, by="tablet")
    elif put_aside == "take_out_of_service":
        changes = trailer.board.take_out_of_service(trailer.at, "supply-signal", by="tablet")
    else:
        trailer.does("laid up")
        assert {state for _, state in trailer.shown()} == {"suppressed by design"}
        assert [one["under"] for one in trailer.board.standing()] == [None, None]
        return
    follower, cause = changes
    assert (follower.alarm, follower.state, follower.by) == ("supply-lost", "unacknowledged", "")
    assert (cause.alarm, cause.by) == ("supply-signal", "tablet")


def test_followers_of_followers_are_listed_under_the_first_cause(trailer):
    trailer.says(NODE, ("node-lost", "tank"))
    trailer.says(LEVEL, ("level-signal", "tank/level"), for_s=5)
    trailer.says(TRUE, ("draw-low", "Rides"), ("draw-low", "Stalls"), for_s=65)
    standing = trailer.board.standing()
    assert standing[0]["followers"] == ["level-signal", "draw-low"]
    assert [one["under"] for one in standing[1:]] == ["node-lost"] * 3


def test_water_low_is_listed_under_dry_soon_and_comes_back_as_it_was(trailer):
    trailer.says(TRUE, "water-low", for_s=20)
    trailer.board.acknowledge(trailer.at, "water-low")
    assert trailer.says(TRUE, "dry-soon") == [
        ("dry-soon", "", "unacknowledged"),
        ("water-low", "", "suppressed by design"),
    ]
    assert trailer.says(FALSE, "dry-soon", for_s=40) == [
        ("dry-soon", "", "returned to normal unacknowledged"),
        ("water-low", "", "acknowledged"),  # nobody need be told twice
    ]


def test_a_starved_pump_comes_before_the_doubt_about_the_gauge(trailer):
    trailer.says(Condition(True, None, "level repeats"), ("pump-starved", "Rides"))
    trailer.says(LEVEL._replace(variant="frozen"), ("level-signal", "tank/level"), for_s=5)
    first, second = trailer.board.standing()
    assert (first["alarm"], first["followers"]) == ("pump-starved", ["level-signal"])
    assert second["under"] == "pump-starved"
    trailer.says(LEVEL._replace(variant="missing"), ("level-signal", "tank/level"))
    assert trailer.shown()[1] == ("level-signal", "unacknowledged")  # a lost level is no doubt about a pump


def test_a_pump_follows_its_own_cause_only(trailer):
    trailer.says(TRUE, ("pump-starved", "Rides"))
    changes = trailer.says(TRUE, ("draw-low", "Rides"), ("draw-low", "Stalls"), for_s=65)
    assert sorted(changes) == [
        ("draw-low", "Rides", "suppressed by design"),
        ("draw-low", "Stalls", "unacknowledged"),
    ]


def test_critical_alarms_stand_on_their_own_whatever_else_stands(trailer):
    trailer.does("towing", "packing up", "float valve shut", "dumping", "filling past the meter", "laid up")
    trailer.says(NODE, ("node-lost", "tank"))
    trailer.says(TRUE, "dry", "dry-soon", ("pump-starved", "Rides"))
    assert trailer.shown()[:3] == [(name, "unacknowledged") for name in ("dry", "dry-soon", "pump-starved")]


# -- modes --------------------------------------------------------------------------------------------------


def test_no_leak_while_towing_and_what_is_left_of_it_after(trailer):
    trailer.says(FALSE, "leak")
    assert trailer.does("towing") == [("leak", "", "suppressed by design")]
    assert trailer.says(TRUE, "leak", for_s=120) == []
    assert trailer.does() == [("leak", "", "unacknowledged")]


def test_no_supply_lost_while_the_float_valve_is_shut(trailer):
    trailer.does("float valve shut")
    assert trailer.says(TRUE, "supply-lost", for_s=60) == [("supply-lost", "", "suppressed by design")]
    trailer.says(FALSE, "supply-lost", for_s=60)
    assert trailer.does() == [("supply-lost", "", "normal")]


def test_a_mode_holds_for_what_is_watched_only_later(trailer):
    trailer.does("laid up")
    assert trailer.says(TRUE, ("freeze", "tank/water")) == [("freeze", "tank/water", "suppressed by design")]


# -- people -------------------------------------------------------------------------------------------------


def test_acknowledging_takes_all_subjects_or_one(trailer):
    trailer.says(TRUE, ("pump-starved", "Rides"), ("pump-starved", "Stalls"), ("pump-starved", "Stands"))
    assert [c.subject for c in trailer.board.acknowledge(1.0, "pump-starved", "Stalls")] == ["Stalls"]
    assert [c.subject for c in trailer.board.acknowledge(1.0, "pump-starved")] == ["Rides", "Stands"]
    assert trailer.board.acknowledge(1.0, "pump-starved") == []


def test_shelved_until_its_end_or_until_called_back(trailer):
    trailer.says(TRUE, "water-low", for_s=20)
    trailer.board.shelve(trailer.at, "water-low", 60.0, by="tablet")
    assert trailer.board.standing()[0]["shelved_until"] == trailer.at + 60.0
    assert trailer.passes(70) == [("water-low", "", "unacknowledged")]
    trailer.board.shelve(trailer.at, "water-low", 60.0)
    assert [c.state for c in trailer.board.unshelve(trailer.at, "water-low")] == ["unacknowledged"]


def test_out_of_service_and_back(trailer):
    trailer.says(TRUE, ("level-signal", "tank/level"), for_s=5)
    (change,) = trailer.board.take_out_of_service(trailer.at, "level-signal", by="owner")
    assert (change.state, change.by) == ("out of service", "owner")
    assert trailer.passes(60) == []
    (change,) = trailer.board.take_out_of_service(trailer.at, "level-signal", out=False)
    assert change.state == "unacknowledged"


@pytest.mark.parametrize("act", ["shelve", "take_out_of_service"])
@pytest.mark.parametrize("name", ["dry", "dry-soon", "pump-starved"])
def test_nobody_puts_a_critical_alarm_aside(trailer, act, name):
    trailer.says(TRUE, name)
    arguments = {"for_s": 60.0} if act == "shelve" else {}
    with pytest.raises(Refused, match="critical"):
        getattr(trailer.board, act)(trailer.at, name, **arguments)
    assert trailer.shown() == [(name, "unacknowledged")]


def test_names_nobody_watches_are_refused(trailer):
    trailer.says(FALSE, ("draw-low", "Rides"))
    with pytest.raises(Refused, match="no alarm called “tea-time”"):
        trailer.board.acknowledge(1.0, "tea-time")
    with pytest.raises(Refused, match="not watched for “Kitchen”"):
        trailer.board.shelve(1.0, "draw-low", 60.0, "Kitchen")
    assert trailer.board.subjects() == [("draw-low", "Rides")]


# -- by name alone ------------------------------------------------------------------------------------------


def test_two_pumps_under_one_name_make_sensible_lines(trailer):
    names = ByName(trailer.board)
    lines = []

    def follow(changes):
        lines.extend((change.subject, change.state) for change in names.lines(changes))

    def says(condition, pump, times=1):
        for _ in range(times):
            trailer.at += 1.0
            trailer.said["pump-starved", pump] = condition
            follow(trailer.board.update(trailer.at, trailer.said))

    says(TRUE, "Rides")
    says(TRUE, "Stalls")  # calls again
    says(FALSE, "Rides", 20)  # the name stands: no line says it is over
    follow(trailer.board.acknowledge(trailer.at, "pump-starved", "Stalls"))
    follow(trailer.board.acknowledge(trailer.at, "pump-starved", "Rides"))
    says(FALSE, "Stalls", 20)
    assert lines == [
        ("Rides", "unacknowledged"),
        ("Stalls", "unacknowledged"),
        ("Stalls", "acknowledged"),
        ("Stalls", "normal"),
    ]
    assert names.states["pump-starved"] == "normal"
    assert repr(names) == "<ByName {}>"


# -- over a restart -----------------------------------------------------------------------------------------


def restarted(trailer, at):
    trailer.board = Board.restored(json.loads(json.dumps(trailer.board.save())))
    trailer.at = at
    return [(change.alarm, change.subject, change.state) for change in trailer.board.resume(at)]


def test_what_stood_before_a_restart_stands_after_it_until_it_is_known_to_be_over(trailer):
    trailer.says(TRUE, "dry-soon", ("pump-starved", "Rides"))
    trailer.board.acknowledge(trailer.at, "pump-starved")
    before = trailer.board.standing()
    assert restarted(trailer, trailer.at + 60.0) == []
    assert trailer.board.standing() == before
    trailer.said = {}
    assert trailer.passes(600) == []
    assert trailer.says(FALSE, "dry-soon", ("pump-starved", "Rides"), for_s=40) == [
        ("pump-starved", "Rides", "normal"),
        ("dry-soon", "", "returned to normal unacknowledged"),
    ]


def test_followers_and_shelvings_survive_a_restart(trailer):
    trailer.says(NODE, ("node-lost", "tank"))
    trailer.says(LEVEL, ("level-signal", "tank/level"), for_s=5)
    trailer.says(TRUE, "journal")
    trailer.board.shelve(trailer.at, "journal", 600.0)
    before = trailer.board.standing()
    assert restarted(trailer, trailer.at + 60.0) == []
    assert trailer.board.standing() == before


def test_on_a_clock_that_has_fallen_a_year_nothing_stays_away_a_year(trailer):
    trailer.says(TRUE, "journal")
    trailer.board.shelve(trailer.at, "journal", 600.0)
    assert restarted(trailer, trailer.at - 31_536_000.0) == [("journal", "", "unacknowledged")]


def test_a_saved_alarm_that_became_critical_is_told_at_once(trailer):
    trailer.says(TRUE, "dry-soon")
    saved = json.loads(json.dumps(trailer.board.save()).replace('"folded": false', '"folded": true'))
    saved["alarms"][0]["announced"] = "suppressed by design"
    board = Board.restored(saved)
    assert [(c.alarm, c.state) for c in board.resume(trailer.at)] == [("dry-soon", "unacknowledged")]


def test_alarms_of_another_version_are_left_out(trailer):
    trailer.says(TRUE, "dry-soon")
    saved = json.loads(json.dumps(trailer.board.save()).replace("dry-soon", "dry-yesterday"))
    assert Board.restored(saved).standing() == []


def test_what_was_never_saved_is_an_error():
    with pytest.raises(KeyError):
        Board.restored({"alarms": []})
