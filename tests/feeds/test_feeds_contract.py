"""What every feed must do, whatever it reads from: one test for all of them."""

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest
from waiting import until

from monitor.feeds.clock import LiveClock
from monitor.feeds.feed import Feed
from monitor.feeds.inbox import Inbox
from monitor.feeds.mqtt import MqttFeed
from monitor.feeds.recorded import recorded_feed
from monitor.feeds.serial_port import SerialFeed
from monitor.feeds.simulated import simulated_feed
from monitor.readings import Pack, Record
from monitor.rig.feed_tables import Broker

PACK = b'[{"bn":"tank/","n":"level","u":"m","v":0.612}]'


class Case(NamedTuple):
    feed: Feed
    send: Callable[[], None]
    """Makes one more pack of the node `tank` arrive, now or a little later."""


class SteadyWorld:
    """A simulated world in which the tank's node speaks ten times a second."""

    def __init__(self, _name: str, seed: int, start_at: float) -> None:
        self._at = start_at

    def advance(self, to_at: float):
        while self._at <= to_at:
            rows = [{"bn": "tank/", "n": "level", "u": "m", "v": 0.612}]
            yield {"at": self._at, "node": "tank", "pack": rows}
            self._at += 0.1


def mqtt_case(request) -> Case:
    broker = request.getfixturevalue("broker")
    return Case(
        MqttFeed("mqtt 1", Broker(mqtt=broker.url)), lambda: broker.publish("holdwater/tank/readings", PACK)
    )


def serial_case(request) -> Case:
    port = request.getfixturevalue("port")
    return Case(SerialFeed("serial 1", port.name), lambda: port.send(PACK + b"\n"))


def recorded_case(request) -> Case:
    file: Path = request.getfixturevalue("tmp_path") / "day.jsonl"
    rows = b', "node": "tank", "pack": ' + PACK + b"}\n"
    file.write_bytes(b"".join(b'{"at": %.1f' % (1e9 + i / 10) + rows for i in range(2000)))
    return Case(recorded_feed("recorded 1", LiveClock(), file), lambda: None)


def simulated_case(request) -> Case:
    return Case(simulated_feed("simulated 1", LiveClock(), "steady", 1, SteadyWorld), lambda: None)


@pytest.fixture(params=[mqtt_case, serial_case, recorded_case, simulated_case])
def case(request):
    case = request.param(request)
    yield case
    case.feed.close()


def test_a_feed_starts_brings_data_says_how_it_is_and_ends(case):
    feed, inbox = case.feed, Inbox(LiveClock())
    before = feed.status()
    assert (before.name, before.ok, before.packs, before.rejects) == (feed.name, False, 0, 0)
    assert before.why.endswith(".")
    assert before.do

    feed.start(inbox)
    until(lambda: feed.status().ok, what="the feed is ok")
    case.send()
    event = until(inbox.drain, what="a pack arrives")[0]
    assert event == Pack(event.at, feed.name, "tank", (Record("tank/level", "m", 0.612),))
    status = feed.status()
    assert status.ok
    assert status.packs >= 1
    assert (status.why, status.do) == ("", "")

    feed.close()
    inbox.drain()
    case.send()
    feed.close()
    status = feed.status()
    assert not status.ok
    assert "closed" in status.why
    case.send()
    assert inbox.drain() == []


def test_a_feed_that_was_never_started_can_be_closed(case):
    case.feed.close()
    assert not case.feed.status().ok
