"""What the running daemon costs besides readings: its start, its memory over a day, each further client.

`start`: from the command to the first reading shown, nodes already sending; the median of several starts.
`clients`: resident memory with one stream open, then with as many as one address may have, each KiB more shared out.
`day`: hours of a recorded feed played fast, a stream open; resident memory after each hour of it, and the slope of a
straight line (least squares) through all but the first two.

    python -m tests.benchmarks.daemon_costs [--starts 5] [--hours 25] [--speed 100] [--only day]
"""

import argparse
import contextlib
import json
import socket
import statistics
import sys
import tempfile
import threading
import time
from contextlib import ExitStack, contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import trailer
from brokers import mosquitto
from daemons import holdwater, write_rig
from waiting import until

from tests.benchmarks.chain import HERTZ, NODES, packet, publisher, resident_mib

MOST_START_S, MOST_MIB, MOST_KIB_A_CLIENT, MOST_GROWTH_MIB, MOST_MIB_AN_HOUR = 3.0, 90.0, 40.0, 3.0, 0.1
CLIENTS = 40
SETTLE_S = 8.0


@contextmanager
def nodes_sending(port):
    """Three nodes ten times a second, until the block ends."""
    over, sock = threading.Event(), publisher(port)

    def send():
        number = 0
        while not over.wait(1.0 / HERTZ / len(NODES)):
            sock.sendall(packet(number))
            number += 1

    thread = threading.Thread(target=send)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def stream(port):
    """A client of the live stream that reads all it is sent and keeps nothing."""
    sock = socket.create_connection(("127.0.0.1", port))
    sock.sendall(b"GET /api/live HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")

    def read():
        with contextlib.suppress(ConnectionError):
            while sock.recv(1 << 16):
                pass

    threading.Thread(target=read, daemon=True).start()
    return sock


def port_of(running):
    return int(running.url.rstrip("/").rpartition(":")[2])


def starts(count):
    took_s = []
    for _ in range(count):
        with tempfile.TemporaryDirectory() as name, mosquitto(Path(name)) as broker, nodes_sending(broker.port):
            rig = write_rig(Path(name) / "rig.toml", f'mqtt = "{broker.url}"')
            begun = time.perf_counter()
            with holdwater(Path(name), "run", rig) as running:
                until(lambda: running.volume_l() is not None, 30.0, "a first reading is shown")
                took_s.append(time.perf_counter() - begun)
    return {"start_s": round(statistics.median(took_s), 2), "starts_s": [round(each, 2) for each in took_s]}


def clients():
    with (
        tempfile.TemporaryDirectory() as name, mosquitto(Path(name)) as broker, nodes_sending(broker.port),
        holdwater(Path(name), "run", write_rig(Path(name) / "rig.toml", f'mqtt = "{broker.url}"')) as running,
        ExitStack() as open_streams,
    ):  # fmt: skip
        pid, port = running.process.pid, port_of(running)
        open_streams.enter_context(stream(port))
        time.sleep(2 * SETTLE_S)
        one = resident_mib(pid)
        for _ in range(CLIENTS):
            open_streams.enter_context(stream(port))
        time.sleep(SETTLE_S)
        more = resident_mib(pid)
    return {"one_page_mib": round(one, 1), "kib_a_further_client": round((more - one) * 1024 / CLIENTS, 1)}


def day(hours, speed):
    with tempfile.TemporaryDirectory() as name:
        recording = Path(name) / "day.jsonl"
        trailer.record_a_day(recording, hours, level_hz=1)
        feed = f'[[feed]]\nrecorded = "{recording}"\nspeed = {speed}\n'
        rig = Path(name) / "rig.toml"
        before, _, after = trailer.RIG.partition("[[feed]]")
        del after
        rig.write_text(f'{before}{feed}\n[page]\nlisten = "127.0.0.1:0"\n', "utf-8")
        with holdwater(Path(name), "run", rig) as running, stream(port_of(running)):
            begun = until(lambda: running.state()["forecast"]["volume_l"] is not None and running.state()["at"], 30.0)
            sizes = []
            for hour in range(1, hours):
                until(lambda: running.state()["at"] >= begun + hour * 3600.0, 600.0, "an hour of it passes")  # noqa: B023
                sizes.append(round(resident_mib(running.process.pid), 1))
                print(f"after {hour} h: {sizes[-1]} MiB", file=sys.stderr, flush=True)
    slope = statistics.linear_regression(range(len(sizes[2:])), sizes[2:]).slope
    return {
        "mib_after_each_hour": sizes, "growth_after_first_hour_mib": round(sizes[-1] - sizes[0], 1),
        "mib_an_hour": round(slope, 3),
    }  # fmt: skip


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--starts", type=int, default=5)
    options.add_argument("--hours", type=int, default=25)
    options.add_argument("--speed", type=int, default=100)
    options.add_argument("--only", choices=["starts", "clients", "day"])
    options = options.parse_args()
    assert options.hours > 4, "memory is compared from the first hour to the last but one"
    ways = {
        "starts": lambda: starts(options.starts), "clients": clients,
        "day": lambda: day(options.hours, options.speed),
    }  # fmt: skip
    seen = {}
    for name in [options.only] if options.only else ways:
        seen |= ways[name]()
        print(seen, file=sys.stderr, flush=True)
    for name, most in (
        ("start_s", MOST_START_S), ("one_page_mib", MOST_MIB), ("kib_a_further_client", MOST_KIB_A_CLIENT),
        ("growth_after_first_hour_mib", MOST_GROWTH_MIB), ("mib_an_hour", MOST_MIB_AN_HOUR),
    ):  # fmt: skip
        if name in seen:
            print(f"{name:<30}{seen[name]:>8}  at most {most:g}: {'met' if seen[name] <= most else 'missed'}")
    print(json.dumps({"bench": "daemon_costs", "seen": seen}))


if __name__ == "__main__":
    main()
