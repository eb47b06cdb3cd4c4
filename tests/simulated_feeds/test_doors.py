"""The doors: a file the daemon reads back, serial lines that fit, and a broker that tells every node's fate."""

import json
import os
from pathlib import Path
from threading import Event as Flag

import paho.mqtt.client as mqtt
import pytest
import serial
from brokers import Mosquitto
from click.testing import CliRunner
from paho.mqtt.enums import CallbackAPIVersion
from playing import minutes, story_of
from waiting import until

from monitor.readings import Alive, Pack
from monitor.wire.recorded import read_line
from simulated_feeds import open_scenario
from simulated_feeds.__main__ import main, play
from simulated_feeds.doors import LONGEST_LINE, Broker, RecordedFile, SerialLine, crc16, serial_lines


def test_a_recorded_file_is_what_the_daemon_reads(tmp_path: Path) -> None:
    file = tmp_path / "day.jsonl"
    story = open_scenario("fairground")
    with RecordedFile(file) as door:
        for event in minutes(story, 5):
            door.put(event)
    lines = file.read_bytes().splitlines()
    read = [read_line(line, "recorded 1") for line in lines]
    assert [event.at for event in read] == sorted(event.at for event in read)
    levels = [r.value for event in read if isinstance(event, Pack) for r in event.records if r.name == "tank/level"]
    assert len(levels) == pytest.approx(600, abs=5)
    assert sum(isinstance(event, Alive) for event in read) == 5


def test_the_check_is_modbus() -> None:
    assert crc16(b"123456789") == 0x4B37  # CRC-16/MODBUS, the catalogue's check value


def test_a_pack_is_one_line_and_a_long_one_several() -> None:
    short = [{"bn": "tank/", "n": "level", "u": "m", "v": 0.5}, {"n": "seq", "u": "count", "v": 7}]
    (line,) = serial_lines(short)
    body, _, check = line.rstrip(b"\n").rpartition(b"*")
    assert json.loads(body) == short
    assert int(check, 16) == crc16(body)
    long = [{"bn": "tank/", "bt": -5.0, "n": "level", "u": "m", "v": 0.5}]
    long += [{"n": "level", "u": "m", "v": 0.5, "t": -i} for i in range(99)]
    lines = list(serial_lines(long))
    assert len(lines) > 3
    assert all(len(line.rstrip(b"\n")) <= LONGEST_LINE for line in lines)
    packs = [json.loads(line.rpartition(b"*")[0]) for line in lines]
    assert all(pack[0]["bn"] == "tank/" and pack[0]["bt"] == -5.0 for pack in packs)
    assert sum(len(pack) for pack in packs) == 100


def test_a_pseudo_terminal_carries_lines_at_its_speed() -> None:
    slept: list[float] = []
    story = story_of('title = "x"')
    packs = [event for event in minutes(story, 0.2) if "pack" in event]
    with SerialLine(9600, sleep=slept.append) as door, serial.Serial(door.path, 9600, timeout=2) as port:
        for event in packs:
            door.put(event)
            line = port.readline()
            assert json.loads(line.rpartition(b"*")[0]) == event["pack"]
            assert slept[-1] == pytest.approx(len(line) * 10 / 9600)
    assert len(slept) == len(packs) > 20


def test_what_nobody_reads_is_dropped_and_counted() -> None:
    with SerialLine(sleep=lambda _: None) as door:
        for _ in range(2000):
            door.write(b"x" * 1000 + b"\n")
        assert door.dropped > 1000


@pytest.mark.broker
def test_nodes_on_a_real_broker_with_their_wills(broker: Mosquitto) -> None:
    heard: list[tuple[str, str, bool]] = []
    ready = Flag()
    client = mqtt.Client(CallbackAPIVersion.VERSION2)
    client.on_message = lambda _c, _u, m: heard.append((m.topic, m.payload.decode(), m.retain))
    client.on_subscribe = lambda *_: ready.set()
    client.connect("127.0.0.1", broker.port)
    client.subscribe("holdwater/#", qos=1)
    client.loop_start()
    assert ready.wait(10)
    story = story_of('[[fault]]\nwhat = "node-lost"\nnode = "tank"\nat = "20 s"')
    events = minutes(story, 1)
    with Broker(broker.url) as door:
        for event in events:
            door.put(event)
        until(lambda: ("holdwater/tank/alive", "gone", False) in heard, what="the tank's will")
        sent = [e for e in events if "pack" in e]
        until(lambda: sum(t.endswith("/readings") for t, _, _ in heard) == len(sent), what="all packs")
    levels = [json.loads(p) for t, p, _ in heard if t == "holdwater/tank/readings"]
    assert levels == [e["pack"] for e in sent if e["node"] == "tank"]
    assert next(p for t, p, _ in heard if t == "holdwater/inlet/alive") == "up"
    until(lambda: ("holdwater/inlet/alive", "gone", False) in heard, what="goodbye")
    client.disconnect()
    client.loop_stop()


def test_the_runner_writes_feed_and_rig(tmp_path: Path) -> None:
    out, rig = tmp_path / "feed.jsonl", tmp_path / "rig.toml"
    args = ["fairground", "--recorded", str(out), "--hours", "0.1", "--seed", "4", "--rig", str(rig)]
    ran = CliRunner().invoke(main, args)
    assert ran.exit_code == 0, ran.output
    lines = [json.loads(line) for line in out.read_text().splitlines()]
    assert 355 < lines[-1]["at"] - lines[0]["at"] <= 360
    assert rig.read_text() == open_scenario("fairground").rig_toml
    assert "A day of washing down a fairground, seed 4" in ran.output
    assert "100%" in ran.output


@pytest.mark.parametrize(("args", "says"), [
    (["fairground"], "found no door or several"),
    (["fairground", "--pty", "--mqtt", "mqtt://localhost"], "found no door or several"),
    (["circus", "--pty"], 'no scenario "circus"'),
])  # fmt: skip
def test_the_runner_refuses_in_words(args: list[str], says: str) -> None:
    ran = CliRunner().invoke(main, args)
    assert ran.exit_code != 0
    assert says in ran.output


def test_the_runner_keeps_to_its_speed() -> None:
    now, slept = [0.0], []

    class Taken:
        def __init__(self) -> None:
            self.events: list[tuple[float, dict]] = []  # type: ignore[type-arg]

        def put(self, event: dict) -> None:  # type: ignore[type-arg]
            self.events.append((now[0], event))

        def close(self) -> None: ...

    def sleep(time_s: float) -> None:
        slept.append(time_s)
        now[0] += time_s

    story, door = story_of('title = "x"'), Taken()
    play(story, door, story.start_at + 60, 10.0, clock=lambda: now[0], sleep=sleep)
    assert now[0] == pytest.approx(6.0, abs=0.2)
    for put_s, event in door.events:
        assert 0 <= 10 * put_s - (event["at"] - story.start_at) < 1.1


def test_a_pseudo_terminal_is_gone_when_closed() -> None:
    door = SerialLine()
    path = door.path
    assert os.path.exists(path)
    door.close()
    with pytest.raises(OSError):
        os.open(path, os.O_RDWR | os.O_NOCTTY)
