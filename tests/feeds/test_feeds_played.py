"""Stories played against the clock: recordings and the simulated world."""

import pytest
from waiting import until

from monitor.feeds.clock import LiveClock
from monitor.feeds.inbox import Inbox
from monitor.feeds.open import open_feed, open_feeds, speed_of
from monitor.feeds.recorded import Recording, events, recorded_feed, shifted
from monitor.feeds.simulated import read, simulated_feed
from monitor.readings import Act, Alive, Pack, Passing, Record, Reject, WallStep
from monitor.rig.feed_tables import MqttFeed, RecordedFeed, SerialFeed, SimulatedFeed
from monitor.wire.recorded import write_event

LEVEL = (Record("tank/level", "m", 0.6),)


class HandClock:
    def __init__(self, at: float, speed: float = 1.0) -> None:
        self.at = at
        self.speed = speed

    def now(self) -> float:
        return self.at


def day(*more) -> bytes:
    told = [Pack(100.0, "serial 1", "tank", LEVEL), Alive(101.5, "mqtt 1", "tank", False), Passing(102.0), *more]
    return b"".join(map(write_event, told))


def test_events_come_each_later_than_the_one_before_and_a_bad_line_keeps_its_place():
    raw = "garble\\n"
    lines = [b'{"at":5,"act":"packing-up"}\n', b"garble\n", b"\n", b'{"at":3}\n', b'{"at":5}\n', b'{"at":6.5}']
    assert list(events(lines, "first")) == [
        Act(5.0, "packing-up"),
        Reject(5.000001, "first", "not-json", "This is no JSON: JSON is malformed: invalid character (byte 0).", raw),
        Passing(5.000002),
        Passing(5.000003),
        Passing(6.5),
    ]


def test_a_recording_keeps_its_own_times_where_they_rise(tmp_path):
    assert [event.at for event in events(day().splitlines(True), "first")] == [100.0, 101.5, 102.0]


def test_a_recording_is_played_as_the_clock_reaches_it(tmp_path):
    file = tmp_path / "day.jsonl"
    file.write_bytes(day(Act(103.0, "packing-up", "Ana"), Reject(104.0, "serial 1", "crc", "why", "raw")))
    clock = HandClock(5000.0)
    feed, inbox = recorded_feed("recorded 1", clock, file), Inbox(clock)
    feed.start(inbox)
    assert until(inbox.drain) == [Pack(5000.0, "recorded 1", "tank", LEVEL)]
    clock.at = 5003.5
    seen: list = []
    until(lambda: len(seen.__iadd__(inbox.drain())) >= 2)
    assert seen == [Alive(5001.5, "recorded 1", "tank", False), Act(5003.0, "packing-up", "Ana")]
    clock.at = 5010.0
    assert until(inbox.drain) == [Reject(5004.0, "recorded 1", "crc", "why", "raw")]
    why = until(lambda: feed.status().why)
    assert "played to its end" in why
    assert feed.status()[4:] == (1, 1)
    feed.close()


def test_what_the_nodes_clocks_said_moves_with_the_recording():
    absolute, relative = Record("a/b", "m", 1.0, stamp=1.7e9), Record("a/c", "m", 1.0, stamp=-2.0)
    assert shifted(Pack(1.7e9, "f", "a", (absolute, relative)), 60.0).records == (
        absolute._replace(stamp=1.7e9 + 60),
        relative,
    )
    assert shifted(WallStep(10.0, 20.0), 5.0) == WallStep(15.0, 25.0)


@pytest.mark.parametrize(
    ("content", "words"), [(None, "No such file"), (b"", "played to its end"), (b"\xff" * 300_000, "played to its end")]
)
def test_a_file_that_is_missing_empty_or_no_recording_is_told(tmp_path, content, words):
    file = tmp_path / "day.jsonl"
    if content is not None:
        file.write_bytes(content)
    feed = recorded_feed("recorded 1", LiveClock(), file)
    feed.start(Inbox(LiveClock()))
    until(lambda: words in feed.status().why, what=words)
    assert feed.status().do.endswith(".")
    feed.close()


def test_a_recording_holds_no_more_than_a_line(tmp_path):
    file = tmp_path / "day.jsonl"
    file.write_bytes(b"x" * 1_000_000 + b"\n" + day())
    recording = Recording(file, "f", 0.0)
    told = list(recording.advance(1e9))
    recording.close()
    assert {event.kind for event in told[:-3]} == {"too-long", "not-json"}
    assert len(told) <= 8
    assert told[-3].records == LEVEL


class World:
    def __init__(self, *told: dict, fault: Exception | None = None) -> None:
        self.told = list(told)
        self.fault = fault

    def advance(self, to_at: float) -> list[dict]:
        if self.fault:
            raise self.fault
        due = [each for each in self.told if each["at"] <= to_at]
        self.told = self.told[len(due) :]
        return due


def test_a_simulated_world_is_lived_from_the_clock_s_now_and_may_garble():
    asked = []

    def open_world(name: str, seed: int, start_at: float) -> World:
        asked.append((name, seed, start_at))
        level = {"at": start_at, "node": "tank", "pack": [{"n": "tank/level", "u": "m", "v": 0.6}]}
        return World(level, {"at": start_at + 1, "raw": "#!"}, {"at": start_at + 2, "node": "tank", "alive": "?"})

    clock = HandClock(5000.0)
    feed, inbox = simulated_feed("simulated 1", clock, "quiet", 7, open_world), Inbox(clock)
    feed.start(inbox)
    assert until(inbox.drain) == [Pack(5000.0, "simulated 1", "tank", LEVEL)]
    clock.at = 5002.0
    seen: list = []
    until(lambda: len(seen.__iadd__(inbox.drain())) >= 2)
    assert [(event.at, event.kind) for event in seen] == [(5001.0, "unnamed"), (5002.0, "alive")]
    assert asked == [("quiet", 7, 5000.0)]
    feed.close()


@pytest.mark.parametrize("fault", [KeyError("x"), ZeroDivisionError("by zero"), ValueError("no such scenario")])
def test_a_world_that_breaks_is_told_and_ends_nothing_else(fault):
    feed = simulated_feed("simulated 1", LiveClock(), "x", 1, lambda *_, **__: World(fault=fault))
    feed.start(Inbox(LiveClock()))
    until(lambda: str(fault) in feed.status().why)
    feed.close()


def test_the_fairground_s_own_scenario_plays():
    feed, inbox = simulated_feed("simulated 1", LiveClock(speed=20.0), "fairground"), None
    inbox = Inbox(LiveClock())
    feed.start(inbox)
    nodes: set = set()
    until(lambda: "tank" in nodes or nodes.update(e.node for e in inbox.drain() if isinstance(e, Pack)))
    assert feed.status().ok
    feed.close()


def test_a_scenario_nobody_knows_is_told():
    feed = simulated_feed("simulated 1", LiveClock(), "no such story")
    feed.start(Inbox(LiveClock()))
    until(lambda: "no such story" in feed.status().why)
    feed.close()


def test_numbers_without_a_meaning_in_a_world_s_words_are_a_reject():
    assert read({"at": 1.0, "node": "tank", "pack": [{"n": "tank/x", "v": float("nan")}]}, "f").kind == "not-a-number"


def test_feeds_are_opened_from_their_tables_and_numbered_among_their_kind(tmp_path):
    tables = [
        MqttFeed(mqtt="mqtt://127.0.0.1:1883"),
        SerialFeed(serial="/dev/ttyUSB0"),
        MqttFeed(mqtt="mqtts://broker.example", topics=["a/+/readings"]),
        SimulatedFeed(simulated="fairground", speed=20.0),
        RecordedFeed(recorded=tmp_path / "day.jsonl", speed=5.0),
    ]
    feeds = open_feeds(tables, LiveClock())
    assert [feed.name for feed in feeds] == ["mqtt 1", "serial 1", "mqtt 2", "simulated 1", "recorded 1"]
    assert feeds[2].topics == ("a/+/readings", "a/+/alive")
    assert open_feed(tables[1], LiveClock(), 3).name == "serial 3"
    assert speed_of(tables) == 20.0
    assert speed_of(tables[:2]) == 1.0


def test_a_story_is_told_ahead_so_that_its_times_outlive_the_daemon_s_own():
    class Ticking:
        def __init__(self, _name: str, seed: int, start_at: float) -> None:
            self.at = start_at

        def advance(self, to_at: float):
            while self.at <= to_at:
                yield {"at": self.at, "node": "tank", "pack": [{"n": "tank/x", "v": self.at}]}
                self.at += 0.25

    clock = HandClock(1000.0, speed=20.0)
    feed, inbox = simulated_feed("simulated 1", clock, "x", 1, Ticking), Inbox(clock)
    feed.start(inbox)
    seen: list = []
    for clock.at in (1000.0, 1001.5, 1003.0):
        until(lambda: seen.__iadd__(inbox.drain_to_now()[0])[-1:] and seen[-1].at >= clock.at + 2.0)
    assert [event.at for event in seen] == [event.records[0].value for event in seen]
    feed.close()
