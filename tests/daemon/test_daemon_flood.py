"""Strangers flood the broker while the tank runs dry: it is warned, memory stays bounded, what was dropped is shown.

`tests/benchmarks/flood.py` does it for a minute at 5,000 messages a second, and tells the figures.
"""

import re
from pathlib import Path

import pytest
from brokers import Mosquitto
from daemons import Holdwater, command, holdwater, write_rig
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion
from waiting import until

from monitor.core.intake import KEPT_NODES

pytestmark = pytest.mark.broker

MESSAGES = 8_000
DRAWS = '[{"bn":"rides/","n":"running","vb":true},{"n":"drawing","vb":true}]'
PAYLOADS = (b'[{"bn":"n%d/","n":"level","u":"m","v":0.5}]', b'{"not": "for us"} %d')


def level(height_m: float) -> str:
    return f'[{{"bn":"tank/","n":"level","u":"m","v":{height_m}}}]'


def resident_mb(daemon: Holdwater) -> float:
    told = Path(f"/proc/{daemon.process.pid}/status").read_text()
    return int(re.findall(r"VmRSS:\s+(\d+)", told)[0]) / 1000


def flood(port: int) -> Client:
    client = Client(CallbackAPIVersion.VERSION2)
    client.connect("127.0.0.1", port)
    client.loop_start()
    for n in range(MESSAGES):
        client.publish(f"holdwater/n{n % 500}/readings", PAYLOADS[n % 2] % (n % 500))
    return client


def test_dry_soon_comes_through_a_flood(broker: Mosquitto, tmp_path: Path) -> None:
    with holdwater(tmp_path, "run", write_rig(tmp_path / "rig.toml", f'mqtt = "{broker.url}"')) as daemon:
        for _ in range(4):
            broker.publish("holdwater/tank/readings", level(0.5))
        until(daemon.volume_l)
        before_mb = resident_mb(daemon)
        client = flood(broker.port)

        def warned() -> bool:
            """The water stands just over the heel, and a pump draws."""
            broker.publish("holdwater/rides/readings", DRAWS)
            broker.publish("holdwater/tank/readings", level(0.19))
            return "dry-soon" in daemon.alarms()

        until(warned, 60.0, "the warning")
        until(lambda: sum(daemon.rejects().values()) + daemon.state()["dropped"] >= 100, 60.0, "the flood is seen")
        client.loop_stop()
        assert len(daemon.http.get("/api/owner").json()["nodes"]) <= KEPT_NODES
        assert "arrivals let go" in command("watch", daemon.url, "--once").stdout
        assert resident_mb(daemon) - before_mb < 150.0
