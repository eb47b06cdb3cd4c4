"""A flood at the broker while the tank runs dry: whether `dry-soon` comes on time, what it costs, what is dropped.

    python -m tests.benchmarks.flood [--rate 5000] [--seconds 60]

A tank is drawn down in real time by one pump; its nodes speak twice a second through a real mosquitto. The same is
done twice, without and with strangers who publish `rate` messages a second, half of them readings nobody knows, half
of them garbage; the flood begins half its length before the moment at which the calm run was warned. *Left* is the
true time to the heel when mosquitto_sub hears the warning; resident memory is read from /proc each second.
"""

import argparse
import json
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

sys.path.insert(0, str(Path(__file__).parents[1]))
from brokers import Mosquitto, mosquitto
from daemons import Holdwater, holdwater, write_rig

from monitor.rig.load import load

DRAW_L_MIN, HEEL_L = 22.7, 113.6
EVERY_S = 0.5
BEGINS_S = 330.0
"""Left at the beginning of each draining."""
PAYLOADS = (b'[{"bn":"stranger%d/","n":"level","u":"m","v":0.5}]', b'{"not": "for us"} %d')


class Seen(NamedTuple):
    left_s: float
    sent: int
    most_mb: float
    grew_mb: float
    dropped: int
    journal_dropped: int
    lag_s: float
    """The longest the page's state was behind the clock."""


def connected(port: int) -> Client:
    client = Client(CallbackAPIVersion.VERSION2)
    client.connect("127.0.0.1", port)
    client.loop_start()
    return client


def pour(port: int, rate: float, seconds: float) -> None:
    """Publishes at that rate; prints how many it sent."""
    client, began_s, sent = connected(port), time.monotonic(), 0
    while (spent_s := time.monotonic() - began_s) < seconds:
        while sent < min(spent_s, seconds) * rate:
            client.publish(f"holdwater/stranger{sent % 300}/readings", PAYLOADS[sent % 2] % (sent % 300))
            sent += 1
        time.sleep(0.002)
    print(sent, flush=True)


@contextmanager
def pouring(port: int, rate: float, seconds: float) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, __file__, "--pour", str(port), "--rate", str(rate), "--seconds", str(seconds)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        yield process


def resident_mb(pid: int) -> float:
    return int(re.findall(r"VmRSS:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())[0]) / 1000


class Drawn:
    """The tank, drawn down in real time from the moment it is made; `say` sends what its nodes would say by now."""

    def __init__(self, port: int, rig: Path, volume_l: float) -> None:
        self.client, self.table = connected(port), load(rig).tank.strapping
        self.volume_l, self.began_s, self.seq = volume_l, time.monotonic(), 0

    def left_s(self) -> float:
        return (self.volume_l - HEEL_L) / DRAW_L_MIN * 60.0 - (time.monotonic() - self.began_s)

    def say(self) -> None:
        now_l = self.volume_l - (time.monotonic() - self.began_s) / 60.0 * DRAW_L_MIN
        self.seq += 1
        height_m = self.table.height_m(now_l) + (self.seq % 3 - 1) * 0.001
        level = [{"bn": "tank/", "n": "level", "u": "m", "v": round(height_m, 4)}, _seq(self.seq)]
        meter = [{"bn": "inlet/", "n": "total", "u": "l", "v": 100.0}, _seq(self.seq)]
        pump = [{"bn": "rides/", "n": "running", "vb": True}, {"n": "drawing", "vb": True}, _seq(self.seq)]
        for node, pack in (("tank", level), ("inlet", meter), ("rides", pump)):
            self.client.publish(f"holdwater/{node}/readings", json.dumps(pack), qos=1)


def _seq(n: int) -> dict[str, object]:
    return {"n": "seq", "u": "count", "v": n}


def dried(folder: Path, broker: Mosquitto, rate: float, seconds: float, from_left_s: float = 0.0) -> Seen:
    """One draining; the flood begins at so much left."""
    folder.mkdir()
    rig = write_rig(folder / "rig.toml", f'mqtt = "{broker.url}"')
    heard = folder / "heard"
    with holdwater(folder, "run", rig) as daemon, heard.open("w") as out:
        ears = ["mosquitto_sub", "-h", "127.0.0.1", "-p", str(broker.port), "-R", "-t", "holdwater/rig/alarm/dry-soon"]
        listening = subprocess.Popen(ears, stdout=out)
        tank = Drawn(broker.port, rig, HEEL_L + BEGINS_S / 60.0 * DRAW_L_MIN)
        try:
            return _watched(daemon, broker, tank, heard, rate, seconds, from_left_s)
        finally:
            tank.client.loop_stop()
            listening.kill()
            listening.wait()


def _watched(
    daemon: Holdwater, broker: Mosquitto, tank: Drawn, heard: Path, rate: float, seconds: float,
    from_left_s: float,
) -> Seen:  # fmt: skip
    before_mb, most_mb, lag_s, left_s = 0.0, 0.0, 0.0, float("-inf")
    looked_s = time.monotonic()
    flooding = None
    while tank.left_s() > 10.0:
        tank.say()
        if flooding is None and rate and tank.left_s() < from_left_s:
            before_mb = resident_mb(daemon.process.pid)
            flooding = pouring(broker.port, rate, seconds)
            process = flooding.__enter__()
        if left_s == float("-inf") and '"unacknowledged"' in heard.read_text("utf-8"):
            left_s = tank.left_s()
        if time.monotonic() - looked_s > 1.0:
            looked_s = time.monotonic()
            most_mb = max(most_mb, resident_mb(daemon.process.pid))
            lag_s = max(lag_s, daemon.state()["age_s"] or 0.0)
        if left_s > 0 and (not rate or (flooding and process.poll() is not None)):
            break
        time.sleep(EVERY_S)
    sent = 0
    if flooding is not None:
        sent = int(process.stdout.read())
        flooding.__exit__(None, None, None)
    state = daemon.state()
    return Seen(
        left_s, sent, most_mb, most_mb - before_mb if before_mb else 0.0, state["dropped"],
        state["journal"]["dropped"], lag_s,
    )  # fmt: skip


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--rate", type=float, default=5000.0)
    asked.add_argument("--seconds", type=float, default=60.0)
    asked.add_argument("--pour", type=int, help=argparse.SUPPRESS)
    how = asked.parse_args()
    if how.pour:
        pour(how.pour, how.rate, how.seconds)
        return
    with tempfile.TemporaryDirectory(prefix="flood-") as folder, mosquitto(Path(folder)) as broker:
        seen = Seen(0.0, 0, 0.0, 0.0, 0, 0, 0.0)
        for name, rate in (("calm", 0.0), ("flood", how.rate)):
            seen = dried(Path(folder) / name, broker, rate, how.seconds, seen.left_s + how.seconds / 2)
            cost = f"{seen.most_mb:.0f} MB at most, {seen.grew_mb:+.0f} MB by the flood"
            print(
                f"{name:6} dry-soon heard with {seen.left_s:6.1f} s left; {seen.sent:,} messages in {how.seconds:g} s;"
                f" memory {cost}; dropped before deciding: {seen.dropped:,}; not stored: {seen.journal_dropped:,};"
                f" newest reading at most {seen.lag_s:.1f} s old",
                flush=True,
            )


if __name__ == "__main__":
    main()
