"""A recorded run replays to the forecasts and alarms it had while it was lived."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from brokers import Mosquitto
from daemons import Holdwater, command, holdwater, write_rig
from talkers import Pack, level, talking
from waiting import until

from monitor.changes import AlarmChange, Change, Forecast
from monitor.core import Core
from monitor.journal.rebuild import changes, rebuild
from monitor.rig.load import load

MINUTE_S = 60.0


def tank(s: float) -> Pack:
    """Some 28 litres a minute leave, and the level trembles by a millimetre."""
    return level(0.215 - 0.0004 * s + 0.001 * (s * 5 % 2 < 1))


def rides(s: float) -> Pack:
    return [{"bn": "rides/", "n": "running", "vb": True}, {"n": "drawing", "vb": s % 15 > 3}]


def inlet(s: float) -> Pack:
    return [{"bn": "inlet/", "n": "total", "u": "l", "v": 1000.0 + round(s / 10.0, 1)}]


def lived(running: Holdwater, broker: Mosquitto) -> None:
    """A minute with a warning, what a person did about it, garble, a will and a strange name."""
    programs = {node: [*broker.publisher(f"holdwater/{node}/readings"), "-l"] for node in ("tank", "rides", "inlet")}
    with talking(programs["tank"], tank), talking(programs["rides"], rides), talking(programs["inlet"], inlet, 1.0):
        running.until_alarm("dry-soon", 45.0)
        running.http.post("/api/act", json={"act": "acknowledge", "alarm": "dry-soon", "by": "Ana"})
        broker.publish("holdwater/tank/readings", "garble")
        broker.publish("holdwater/tank/readings", '[{"n":"tank/colour","v":7,"t":-3}]')
        until(lambda: running.state()["started_s"] > 0.7 * MINUTE_S, MINUTE_S)
    broker.publish("holdwater/rides/alive", "gone")
    until(lambda: running.state()["started_s"] > MINUTE_S, MINUTE_S)


def once_more(rig: Path, journal: Path) -> list[Change]:
    """The journal's events through a core of our own."""
    core = Core(load(rig))
    return [change for event in rebuild(journal) for change in core.take(event)]


def by_kind(told: Iterator[Change] | list[Change]) -> tuple[list[AlarmChange], list[dict]]:
    """Alarms to the letter; forecasts as they are told, for no finer figure is kept."""
    told = list(told)
    alarms = [change for change in told if isinstance(change, AlarmChange)]
    return alarms, [change.line() for change in told if isinstance(change, Forecast)]


def said(*arguments: str | Path) -> str:
    ended = command(*arguments)
    assert ended.returncode == 0, ended.stderr
    return ended.stdout


def replayed(rig: Path, folder: Path) -> tuple[list[dict], list[dict]]:
    """The same by the commands."""
    feed, events = folder / "feed.jsonl", folder / "events.jsonl"
    said("journal", rig, "--feed", feed)
    said("replay", rig, feed, "--events", events)
    lines = [json.loads(line) for line in events.read_text("utf-8").splitlines()]
    return [each for each in lines if each["event"] == "alarm"], [each for each in lines if each["event"] == "forecast"]


@pytest.mark.broker
def test_a_minute_over_mqtt(broker: Mosquitto, tmp_path: Path) -> None:
    rig = write_rig(tmp_path / "rig.toml", f'mqtt = "{broker.url}"')
    with holdwater(tmp_path, "run", rig) as running:
        lived(running, broker)
        assert running.stop() == 0
    journal = tmp_path / "holdwater.db"
    alarms, forecasts = by_kind(changes(journal))
    assert len(forecasts) >= 6
    assert forecasts[-1]["volume_l"] < forecasts[1]["volume_l"]
    assert {"dry-soon", "node-lost"} <= {alarm.alarm for alarm in alarms}
    assert any(alarm.by == "Ana" for alarm in alarms)
    assert (alarms, forecasts) == by_kind(once_more(rig, journal))
    said_alarms, said_forecasts = replayed(rig, tmp_path)
    assert said_forecasts == forecasts
    assert [each for each in said_alarms if each["alarm"] == "dry-soon"] == [
        {key: value for key, value in each.line().items() if key != "subject"}
        for each in alarms
        if each.alarm == "dry-soon"
    ]
    assert "dry-soon" in said("journal", rig, "--csv", "alarms")
    assert "tank/level" in said("journal", rig, "--csv", "readings").splitlines()[0]
    assert "can be read" in said("journal", rig, "--check")
    assert "signals" in said("journal", rig)


def test_a_simulated_half_hour(tmp_path: Path) -> None:
    rig = write_rig(tmp_path / "rig.toml", 'simulated = "fairground"\nspeed = 300')
    with holdwater(tmp_path, "run", rig) as running:
        until(lambda: running.state()["started_s"] > 6.0, 40.0)
        assert running.stop() == 0
    journal = tmp_path / "holdwater.db"
    alarms, forecasts = by_kind(changes(journal))
    assert len(forecasts) > 100
    assert alarms
    assert (alarms, forecasts) == by_kind(once_more(rig, journal))
    assert replayed(rig, tmp_path)[1] == forecasts
