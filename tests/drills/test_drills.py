"""Drills: what counts, how kindly, and that no rig is touched by one."""

import json
from pathlib import Path

import pytest

from monitor.drills.attempt import Attempt
from monitor.drills.catalogue import DRILLS
from monitor.pages.words import words
from monitor.practice import PracticeDaemon, practice_rig
from simulated_feeds import open_scenario

NOTICES = '[notices]\nmqtt = "mqtt://127.0.0.1:1"\npermit = true\nhorn = { serial = "/dev/none", pin = "rts" }\n'


def tried(name, *log, until=None):
    attempt = Attempt(DRILLS[name])
    attempt.tick(0.0)
    for at, what in log:
        attempt.tick(at)
        attempt.note(at, what)
    attempt.tick(until if until is not None else DRILLS[name].lasts_s + 1.0)
    return attempt


def met(attempt):
    return {goal["key"]: goal["met"] for goal in attempt.score()["goals"]}


def test_all_done_in_time_is_all_the_points():
    attempt = tried(
        "kinked-tap", (200, "alarm:supply-lost"), (240, "did:got-it"), (260, "did:release-back"), (400, "did:walk-tap")
    )
    assert attempt.over
    score = attempt.score()
    assert score["points"] == score["of"] == 10


def test_too_late_costs_that_goal_alone_and_what_was_good_stays():
    attempt = tried(
        "kinked-tap", (200, "alarm:supply-lost"), (600, "did:got-it"), (620, "did:walk-tap"), (630, "alarm:dry")
    )
    assert met(attempt) == {"answered": False, "let_go": False, "found_kink": False, "never_dry": False}
    attempt = tried("kinked-tap", (200, "alarm:supply-lost"), (600, "did:got-it"), (230, "did:release-front"))
    assert met(attempt)["let_go"] is True
    assert met(attempt)["never_dry"] is True, "nothing ran dry before the end"


def test_while_it_runs_a_goal_is_open():
    attempt = tried("two-guns", (200, "alarm:water-low"), until=210.0)
    assert not attempt.over
    assert set(met(attempt).values()) == {None}
    assert attempt.score()["points"] == 0


def test_low_water_is_over_when_both_guns_have_stayed_shut_long_enough_to_see_the_engines():
    log = ((200, "alarm:water-low"), (220, "did:got-it"), (230, "did:release-front"), (240, "did:both-shut"))
    assert not tried("two-guns", *log, until=400.0).over
    done = tried("two-guns", *log, until=450.0)
    assert done.over
    assert done.score()["points"] == 10
    hot = tried("two-guns", *log, (420, "alarm:bypass-hot"), until=450.0)
    assert met(hot)["never_hot"] is False


def test_soap_needs_patience_the_right_look_and_no_pressure():
    good = tried("no-soap", (60, "did:soaping"), (80, "did:look-trigger"), (90, "did:look-nozzle"), until=100.0)
    assert good.score()["points"] == 10
    hasty = tried(
        "no-soap", (60, "did:soaping"), (62, "did:look-ball"), (70, "did:make-safe"), (90, "did:look-nozzle"), until=100
    )
    assert met(hasty) == {"waited": False, "pointed": False, "never_opened": False, "found_soap": True}
    safe = tried("no-soap", (60, "did:make-safe"), (80, "did:look-strainer"), until=100.0)
    assert met(safe)["never_opened"] is True


def test_after_the_end_nothing_counts():
    attempt = tried("no-soap", (60, "did:soaping"), (80, "did:look-nozzle"), until=100.0)
    before = attempt.score()
    attempt.note(101.0, "did:look-ball")
    assert attempt.score() == before


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_hand_and_every_goal_has_its_words(language):
    said = words(language)
    for drill in DRILLS.values():
        wanted = [f"practice.{drill.name}{end}" for end in ("", "_about", "_story", "_lesson")]
        wanted += [f"practice.{how}_{hand}" for hand in drill.hands for how in ("hand", "found")]
        wanted += [f"practice.{how}_{goal.key}" for goal in drill.goals for how in ("good", "next")]
        assert [key for key in wanted if key not in said] == []


def test_permit_and_horn_are_dead_and_no_broker_hears_of_it(tmp_path):
    """Even on a rig file that asks for all of them."""
    text = open_scenario("drill-two-guns").rig_toml + NOTICES
    rig = practice_rig(text, "drill-two-guns", "127.0.0.1:0", tmp_path, 3.0, "es")
    assert [feed.kind for feed in rig.feeds] == ["simulated"]
    assert (rig.notices.permit, rig.notices.outputs, rig.broker) == (False, (), None)
    assert rig.about.language == "es"
    assert Path(rig.journal.file).parent == tmp_path
    daemon = PracticeDaemon(rig, "two-guns")
    state = json.loads(daemon.state_bytes())
    assert (state["horn"], state["permit"], state["notices"]) == (None, None, None)
    assert state["practice"]["drill"] == "two-guns"
    assert daemon.saver is None, "nothing learned in practice is kept"
