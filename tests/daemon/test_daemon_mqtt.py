"""The daemon on a real mosquitto: readings by mosquitto_pub move it, and nothing that comes or goes ends it."""

import math
from collections.abc import Iterator
from pathlib import Path

import pytest
from brokers import Mosquitto, free_port, mosquitto
from daemons import Holdwater, holdwater, write_rig
from talkers import Pack, level, talking
from waiting import until

pytestmark = pytest.mark.broker

TANK = "holdwater/tank/readings"
DIAMETER_M, LENGTH_M = 42 * 0.0254, 54 * 0.0254
HALF_L = 1000.0 * math.pi * DIAMETER_M**2 / 4.0 * LENGTH_M / 2.0
GOOD = '[{"bn":"tank/","n":"level","u":"m","v":%s}]'


@pytest.fixture(scope="module")
def shared_broker(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Mosquitto]:
    with mosquitto(tmp_path_factory.mktemp("mosquitto")) as running:
        yield running


@pytest.fixture(scope="module")
def shared(shared_broker: Mosquitto, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    """One daemon for all that is only said to it: what one test sent must not trouble the next."""
    folder = tmp_path_factory.mktemp("daemon")
    with holdwater(folder, "run", write_rig(folder / "rig.toml", f'mqtt = "{shared_broker.url}"')) as running:
        connected(running)
        yield running


@pytest.fixture
def own(broker: Mosquitto, tmp_path: Path) -> Iterator[Holdwater]:
    with holdwater(tmp_path, "run", write_rig(tmp_path / "rig.toml", f'mqtt = "{broker.url}"')) as running:
        connected(running)
        yield running


def connected(running: Holdwater) -> None:
    until(lambda: running.health()[1]["mqtt 1"]["ok"], what="connected to the broker")


def packs(running: Holdwater) -> int:
    return running.state()["feeds"][0]["packs"]


def lines_to(broker: Mosquitto, topic: str) -> list[str]:
    return [*broker.publisher(topic), "-l"]


def test_readings_sent_by_mosquitto_pub_move_the_state(shared: Holdwater, shared_broker: Mosquitto) -> None:
    """Half a lying cylinder is half its volume, whatever the formula."""
    with talking(lines_to(shared_broker, TANK), lambda _: level(DIAMETER_M / 2)):
        until(lambda: shared.volume_l() == pytest.approx(HALF_L, rel=0.01))
        until(lambda: shared.health()[0] == 200, what="healthy")
        assert shared.state()["age_s"] < 5.0
    with talking(lines_to(shared_broker, TANK), lambda s: level(DIAMETER_M / 2 - 0.002 * s)):
        until(lambda: shared.state()["water"]["trend"] == "falling", 30.0)


def test_a_nodes_will_is_heard(shared: Holdwater, shared_broker: Mosquitto) -> None:
    with talking(lines_to(shared_broker, TANK), lambda _: level(0.5)):
        until(lambda: shared.volume_l() is not None)
    shared_broker.publish("holdwater/tank/alive", "gone")
    lost = until(
        lambda: next((a for a in shared.state()["alarms"] if (a["alarm"], a["variant"]) == ("node-lost", "gone")), None)
    )
    assert (lost["node"], lost["priority"]) == ("tank", "high")
    with talking(lines_to(shared_broker, TANK), lambda _: level(0.5)):
        until(lambda: shared.alarms()["node-lost"].startswith("returned"), 20.0, "its readings say that it lives")


@pytest.mark.parametrize(
    ("payload", "kind"),
    [
        ('[{"n":"inlet/total","u":"l","v":1}]', "foreign-name"),
        (GOOD % "NaN", "not-a-number"),
        (GOOD % "Infinity", "not-a-number"),
        (GOOD % "1e999", "not-a-number"),
        (GOOD % '"0.61"', "not-a-number"),
        (b'[{"bn":"tank/","n":"lev\xff\xfeel","u":"m","v":0.6}]', "not-utf8"),
        (b'[{"n":"tank/' + b"x" * 1_000_000 + b'","v":1}]', "too-long"),
        ("half a pack [{", "not-json"),
        ('[{"n":"tank/made","vs":"in May"}]', "text-value"),
    ],
)
def test_bad_input_is_counted_and_shown(
    shared: Holdwater, shared_broker: Mosquitto, payload: str | bytes, kind: str
) -> None:
    before = shared.rejects().get(kind, 0)
    shared_broker.publish(TANK, payload)
    until(lambda: shared.rejects().get(kind, 0) == before + 1, what=kind)
    state = shared.state()
    latest = state["rejects"]["latest"][-1]
    assert latest["kind"] == kind
    assert latest["feed"] == "mqtt 1"
    assert latest["why"].endswith(".")
    assert len(latest["raw"]) <= 200
    assert state["feeds"][0]["rejects"] == state["rejects"]["total"]


def test_a_name_nobody_refers_to_is_counted(shared: Holdwater, shared_broker: Mosquitto) -> None:
    for _ in range(3):
        shared_broker.publish(TANK, '[{"n":"tank/colour","u":"","v":7}]')
    until(lambda: shared.state()["unknown_names"].get("tank/colour") == 3)


def test_a_retained_reading_is_stale_at_once(broker: Mosquitto, tmp_path: Path) -> None:
    broker.publish(TANK, GOOD % 0.9, "-r")
    with holdwater(tmp_path, "run", write_rig(tmp_path / "rig.toml", f'mqtt = "{broker.url}"')) as running:
        until(lambda: packs(running) == 1)
        signal = until(
            lambda: next((s for s in running.state()["signals"] if s["name"] == "tank/level" and s["value"]), None)
        )
        assert (signal["value"], signal["stale"], signal["age_s"], signal["quality"]) == (0.9, True, None, "unknown")
        assert running.volume_l() is None
        assert running.health()[1]["level"]["ok"] is False


def test_a_broker_that_dies_and_comes_back(own: Holdwater, broker: Mosquitto) -> None:
    """Nothing is restarted by hand but the nodes' own sending."""

    def say(_: float) -> Pack:
        return level(0.5)

    with talking(lines_to(broker, TANK), say):
        until(lambda: own.volume_l() is not None)
        until(lambda: packs(own) > 10, what="a rhythm to be missed")
        broker.kill()
        own.until_alarm("node-lost", within_s=10.0)
    status, parts = own.health()
    assert (status, parts["mqtt 1"]["ok"]) == (503, False)
    assert str(broker.port) in parts["mqtt 1"]["why"]
    assert "Start the broker" in parts["mqtt 1"]["do"]
    assert own.volume_l() is not None, "the water is still believed in"
    heard = packs(own)
    broker.start()
    with talking(lines_to(broker, TANK), say):
        until(lambda: packs(own) > heard, 10.0, "data again")
        until(lambda: own.health()[0] == 200, what="healthy again")
        until(lambda: own.alarms()["node-lost"].startswith("returned"), 20.0)


def test_a_broker_that_is_not_there_is_said(tmp_path: Path) -> None:
    feed = f'mqtt = "mqtt://127.0.0.1:{free_port()}"'
    with holdwater(tmp_path, "run", write_rig(tmp_path / "rig.toml", feed)) as running:
        said = until(lambda: next(f for f in running.state()["feeds"] if "nothing listens" in f["why"]))
        assert said["ok"] is False
        assert said["do"].startswith("Start the broker")
        assert running.health()[0] == 503


def test_a_wrong_password_is_said(tmp_path: Path) -> None:
    with mosquitto(tmp_path, user=("trailer", "right")) as broker:
        feed = f'mqtt = "{broker.url}"\nusername = "trailer"\npassword = "wrong"'
        with holdwater(tmp_path / "daemon", "run", write_rig(tmp_path / "rig.toml", feed)) as running:
            said = until(
                lambda: next((p for p in running.health()[1].values() if "password" in p["why"]), None),
                what="the password is named",
            )
            assert "refused" in said["why"]
            assert "password_file" in said["do"]
            assert running.health()[0] == 503
            assert "wrong" not in running.said(), "a password is never printed"
            assert running.stop() == 0
