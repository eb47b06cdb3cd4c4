"""Behind the scenes of a simulated day: its truth on whole ten seconds, and hands put in by the feed's own thread."""

import pytest

from monitor.feeds.backstage import Backstage
from monitor.feeds.clock import LiveClock
from simulated_feeds import open_scenario

START = 1_795_600_003.0


class Hand:
    now = 0.0

    def __call__(self) -> float:
        return self.now


def begun(upto_s: float = 0.0):
    clock = LiveClock(START, 20.0, Hand())
    backstage, story = Backstage(clock, "fairground"), open_scenario("fairground", 1, START)
    told(backstage, story, upto_s)
    return backstage, story


def told(backstage, story, upto_s):
    story.advance(START + upto_s)
    backstage.follow(story, START + upto_s)


def test_the_truth_is_written_down_on_every_whole_ten_seconds():
    backstage, story = begun(31.0)
    assert [point.at for point in backstage.points(0.0)] == [START + s for s in (7.0, 17.0, 27.0)]
    told(backstage, story, 60.0)
    late = backstage.points(START + 27.0)
    assert [point.at for point in late] == [START + 37.0, START + 47.0, START + 57.0]
    truth = story.truth(START + 47.0)
    assert late[1].volume_l == pytest.approx(truth.volume_l, abs=0.01)
    assert late[1].draw_l_min == pytest.approx(truth.draw_l_min, abs=0.01)


def test_the_day_and_how_it_stands_are_known_once_it_has_begun():
    assert Backstage(LiveClock(START), "fairground").day is None
    backstage, story = begun(5.0)
    day = backstage.day
    assert (day.scenario, day.seed, day.began_at, day.pumps) == ("fairground", 1, START, ["Rides", "Stalls", "Stands"])
    assert day.faults["outlet-shut"] == {"pump": ["", "Rides", "Stalls", "Stands"]}
    assert backstage.now.truth["phase"] == "setup"
    assert backstage.now.handles == story.handles()._asdict()


def test_an_order_is_done_when_the_story_is_next_told_and_not_before():
    backstage, story = begun(5.0)
    asked = [
        backstage.fault("pump-weak", True, {"pump": "Stalls"}), backstage.hand("tap", {"open": False}),
        backstage.fault("no-such-fault", True, {}), backstage.hand("trigger", {"pump": "Nobody", "on": True}),
        backstage.hand("trigger", {}),
    ]  # fmt: skip
    assert not any(done.done() for done in asked)
    told(backstage, story, 6.0)
    assert backstage.now.faults_on == ["pump-weak"]
    assert not backstage.now.handles["tap_open"]
    assert [done.exception() for done in asked[:2]] == [None, None]
    for done, words in zip(asked[2:], ("no-such-fault", "Nobody", "pump"), strict=True):
        with pytest.raises(ValueError, match=words):
            done.result()
    assert [(each["what"], each["on"]) for each in backstage.happened(START)] == [("pump-weak", True), ("tap", None)]


def test_a_new_speed_begins_where_the_story_has_been_told():
    backstage, story = begun(2.0)
    turned = backstage.turn(1.0)
    before = backstage.clock.now()
    told(backstage, story, 4.0)
    assert turned.done()
    assert before <= backstage.clock.now() == START + 4.0
    told(backstage, story, 6.0)
    backstage.clock._monotonic.now += 1.0
    assert backstage.clock.now() == START + 5.0


def test_a_speed_no_clock_can_run_at_changes_nothing():
    backstage, story = begun(2.0)
    refused = backstage.turn(0.0)
    told(backstage, story, 3.0)
    with pytest.raises(ValueError, match="more than 0"):
        refused.result()
    assert backstage.clock.speed == 20.0


def test_the_day_waits_for_its_story_and_no_longer_than_there_is_one():
    backstage, story = begun(10.0)
    backstage.clock._monotonic.now += 3.0
    assert backstage.clock.now() == START + 10.0
    told(backstage, story, 20.0)
    backstage.clock._monotonic.now += 3.0
    assert backstage.clock.now() == START + 20.0
    backstage.close()
    backstage.clock._monotonic.now += 1.0
    assert backstage.clock.now() == START + 40.0
