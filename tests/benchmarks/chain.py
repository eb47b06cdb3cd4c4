"""The whole way from MQTT to the live stream, beside the barest chain that does as much, in turn in one run.

Bare: JSON, a filter of two states for each node, rows written once a second by a thread, server-sent events at most
fifty a second. Both get the same packs through the same kind of broker. A flood (never more than a window ahead of what
the stream has shown, and longer than a second for either: of a shorter one, half is its beginning and its last push)
tells readings a second that were decided on, and processor time for each; three nodes ten times a second, four values
each, tell the delay from publish to stream, the share of a core, and resident memory with one client.

    python -m tests.benchmarks.chain [--packs 24000] [--seconds 10] [--rounds 3]
"""

import argparse
import asyncio
import json
import re
import signal
import socket
import sqlite3
import statistics
import struct
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import closing, contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from brokers import mosquitto
from daemons import holdwater, write_rig
from waiting import until

NODES = {"tank": ("level", "m"), "inlet": ("total", "l"), "rides": ("drawing", "bool")}
HERTZ, VALUES, WINDOW = 10, 4, 1500
WARM_UP_S = 11  # a first forecast has been made by then
COUNT = re.compile(rb'"count": ?(\d+)')
"""Of each signal the rig file names, so many were decided on: one in each pack."""
TARGETS = {
    "readings_per_s": (min, 0.6), "cpu_us_per_reading": (max, 1.7), "p50_ms": (max, 1.5), "p99_ms": (max, 2.0),
    "cpu_percent": (max, 2.0),
}  # fmt: skip


def payload(number):
    """One node's turn: what its rig file names, and three values more."""
    node, (name, unit) = list(NODES.items())[number % len(NODES)]
    tick = number // len(NODES)
    value = {"level": round(0.6 - tick * 1e-6, 4), "total": round(tick * 0.044, 2), "drawing": None}[name]
    first = {"bn": f"{node}/", "n": name, **({"vb": False} if value is None else {"u": unit, "v": value})}
    more = [{"n": f"more{k}", "u": "V", "v": round(12 + tick * 7919 % 97 / 100 + k, 2)} for k in range(VALUES - 1)]
    return node, json.dumps([first, *more], separators=(",", ":")).encode()


def packet(number):
    """An MQTT 3.1.1 PUBLISH of quality 0 (OASIS standard, section 3.3), made by hand: no client to wait for."""
    node, body = payload(number)
    topic = f"holdwater/{node}/readings".encode()
    body = struct.pack(">H", len(topic)) + topic + body
    length, head = len(body), b"\x30"
    while True:
        length, low = divmod(length, 128)
        head += bytes([low | (128 if length else 0)])
        if not length:
            return head + body


def publisher(port):
    sock = socket.create_connection(("127.0.0.1", port))
    sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    sock.sendall(b"\x10\x0d\x00\x04MQTT\x04\x02\x00\x3c\x00\x01b")
    assert sock.recv(4) == b"\x20\x02\x00\x00"
    return sock


class Bare:
    """The barest chain."""

    def __init__(self, mqtt_port, path):
        self.count, self.rows, self.filters, self.left = 0, [], {}, None
        self.sinks, self.pending, self.pushed_s = set(), False, 0.0
        self.mqtt_port, self.over = mqtt_port, threading.Event()
        self.db = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        self.db.execute("pragma journal_mode = wal")
        self.db.execute("create table r(time_us integer, sensor text, value real)")

    def message(self, _client, _user, message):
        pack, at_us = json.loads(message.payload), time.time_ns() // 1000
        node = pack[0]["bn"]
        values = [record.get("v", record.get("vb")) for record in pack]
        self.rows += [(at_us, node + record["n"], value) for record, value in zip(pack, values, strict=True)]
        self.filters[node] = self.filtered(self.filters.get(node, (0.0, 0.0, 100.0, 0.0, 1.0)), float(values[0]))
        self.count += 1
        if not self.pending:
            self.pending = True
            self.loop.call_soon_threadsafe(self.arm)

    def filtered(self, state, seen, dt=0.1):
        """Volume and net flow: one step of a Kalman filter written out."""
        v, f, a, b, c = state
        v, a, b, c = v + f * dt, a + dt * (2 * b + dt * c) + 1e-3, b + dt * c, c + 1e-3
        gain = (seen - v) / (a + 4.0)
        s = 1 / (a + 4.0)
        self.left = v / -f if f < 0 else None
        return v + a * gain, f + b * gain, a - a * a * s, b - a * b * s, c - b * b * s

    def arm(self):
        self.loop.call_later(max(0.0, self.pushed_s + 0.02 - self.loop.time()), self.push)

    def push(self):
        self.pending, self.pushed_s = False, self.loop.time()
        event = b"data: " + json.dumps({"count": self.count, "left": self.left}).encode() + b"\n\n"
        for sink in self.sinks:
            sink(event)

    def keep(self):
        while not self.over.wait(1.0):
            self.save()
        self.save()

    def save(self):
        rows, self.rows = self.rows, []
        self.db.execute("begin")
        self.db.executemany("insert into r values (?, ?, ?)", rows)
        self.db.execute("commit")

    async def serve(self):
        import paho.mqtt.client as mqtt

        self.loop = asyncio.get_running_loop()
        stop = asyncio.Event()
        self.loop.add_signal_handler(signal.SIGTERM, stop.set)
        sinks = self.sinks

        class Peer(asyncio.Protocol):
            def connection_made(self, transport):
                self.transport = transport

            def data_received(self, _data):
                self.transport.write(b"HTTP/1.1 200 OK\r\nContent-Type: text/event-stream\r\n\r\n")
                sinks.add(self.transport.write)

            def connection_lost(self, _error):
                sinks.discard(self.transport.write)

        server = await self.loop.create_server(Peer, "127.0.0.1", 0)
        client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2)
        client.on_message = self.message
        client.on_subscribe = lambda *_: print(server.sockets[0].getsockname()[1], flush=True)
        client.on_connect = lambda *_: client.subscribe("holdwater/+/readings", 0)
        client.connect("127.0.0.1", self.mqtt_port)
        client.loop_start()
        saver = threading.Thread(target=self.keep)
        saver.start()
        await stop.wait()
        client.loop_stop()
        self.over.set()
        saver.join()


@contextmanager
def bare(folder, broker):
    serve = [sys.executable, "-m", "tests.benchmarks.chain", "--serve", str(broker.port), folder / "bare.db"]
    process = subprocess.Popen(serve, stdout=subprocess.PIPE, text=True)
    yield process, int(process.stdout.readline())
    process.terminate()
    process.wait()


@contextmanager
def ours(folder, broker):
    rig = write_rig(folder / "rig.toml", f'mqtt = "{broker.url}"')
    with holdwater(folder, "run", rig) as running:
        until(lambda: all(feed["ok"] for feed in running.state()["feeds"]), 20.0, "the broker is reached")
        yield running.process, int(running.url.rstrip("/").rpartition(":")[2])


class Watcher(threading.Thread):
    """A client of the stream: how many packs it has shown, and how late each was."""

    def __init__(self, port, sent_s):
        super().__init__(daemon=True)
        self.sock = socket.create_connection(("127.0.0.1", port))
        self.sock.sendall(b"GET /api/live HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        self.seen, self.sent_s, self.delays_ms = 0, sent_s, []
        self.start()

    def run(self):
        rest = b""
        while data := self.sock.recv(1 << 18):
            now = time.perf_counter()
            *events, rest = (rest + data).split(b"\n\n")
            for event in events:
                seen = sum(map(int, COUNT.findall(event)))
                if self.seen < seen <= len(self.sent_s):
                    self.delays_ms += [(now - sent_s) * 1000 for sent_s in self.sent_s[self.seen : seen]]
                    self.seen = seen


def cpu_s(pid):
    threads = Path(f"/proc/{pid}/task").iterdir()
    return sum(int((thread / "schedstat").read_text().split()[0]) for thread in threads) / 1e9


def resident_mib(pid):
    status = Path(f"/proc/{pid}/status").read_text()
    return int(re.search(r"VmRSS:\s+(\d+)", status)[1]) / 1024


def measure(way, packs, seconds):
    with (
        tempfile.TemporaryDirectory() as name,
        mosquitto(Path(name)) as broker,
        way(Path(name), broker) as (process, port),
    ):
        sent_s = []
        watcher, sock = Watcher(port, sent_s), publisher(broker.port)
        time.sleep(0.5)
        figures = nominal(process.pid, watcher, sock, sent_s, seconds)
        return figures | flood(process.pid, watcher, sock, sent_s, packs)


def nominal(pid, watcher, sock, sent_s, seconds):
    publish(sock, sent_s, WARM_UP_S)
    known, start, before = len(sent_s), time.perf_counter(), cpu_s(pid)
    publish(sock, sent_s, seconds)
    share = (cpu_s(pid) - before) / (time.perf_counter() - start) * 100
    until(lambda: watcher.seen == len(sent_s), 20.0, "all that was sent is shown")
    delays = sorted(watcher.delays_ms[known:])
    return {
        "p50_ms": statistics.median(delays), "p99_ms": delays[int(0.99 * (len(delays) - 1))],
        "cpu_percent": share, "resident_mib": resident_mib(pid),
    }  # fmt: skip


def publish(sock, sent_s, seconds):
    """Three nodes, ten times a second each, out of step."""
    start, per_second = time.perf_counter(), HERTZ * len(NODES)
    for number in range(seconds * per_second):
        time.sleep(max(0.0, start + number / per_second - time.perf_counter()))
        sent_s.append(time.perf_counter())
        sock.sendall(packet(len(sent_s) - 1))


def flood(pid, watcher, sock, sent_s, packs):
    first, before, start = len(sent_s), cpu_s(pid), time.perf_counter()
    ready = [packet(first + number) for number in range(packs)]
    start, done = time.perf_counter(), 0
    while done < packs:
        assert time.perf_counter() - start < 120, f"stuck at {watcher.seen - first} of {packs}"
        if first + done - watcher.seen > WINDOW - 50:
            time.sleep(0.0005)
            continue
        sent_s += [time.perf_counter()] * len(ready[done : done + 50])
        sock.sendall(b"".join(ready[done : done + 50]))
        done += 50
    while watcher.seen < first + packs:
        assert time.perf_counter() - start < 120, f"lost: {watcher.seen - first} of {packs} seen"
        time.sleep(0.0005)
    readings = packs * VALUES
    wall_s = time.perf_counter() - start
    return {"readings_per_s": readings / wall_s, "cpu_us_per_reading": (cpu_s(pid) - before) / readings * 1e6}


def report(seen):
    median = {way: {key: statistics.median(run[key] for run in runs) for key in runs[0]} for way, runs in seen.items()}
    print(f"\n{'figure':<20}{'ours':>12}{'bare':>12}{'ratio':>9}  target")
    for key, ours_, bare_ in ((key, median["ours"][key], median["bare"][key]) for key in median["ours"]):
        better, bound = TARGETS.get(key, (max, None))
        ratio = ours_ / bare_
        target = "90 MiB at most" if bound is None else f"{'at least' if better is min else 'at most'} {bound} × bare"
        met = ours_ <= 90 if bound is None else better(ratio, bound) == bound if better is max else ratio >= bound
        print(f"{key:<20}{ours_:>12.2f}{bare_:>12.2f}{ratio:>9.2f}  {target}: {'met' if met else 'missed'}")
    print(json.dumps({"bench": "chain", "runs": seen}))


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--packs", type=int, default=24000)
    options.add_argument("--seconds", type=int, default=10)
    options.add_argument("--rounds", type=int, default=3)
    options.add_argument("--serve", nargs=2)
    options = options.parse_args()
    if options.serve:
        chain = Bare(int(options.serve[0]), options.serve[1])
        with closing(chain.db):
            asyncio.run(chain.serve())
        return
    seen = {"ours": [], "bare": []}
    for number in range(options.rounds):
        for way in (ours, bare):
            seen[way.__name__].append(measure(way, options.packs // 50 * 50, options.seconds))
            print(f"round {number + 1} of {options.rounds}, {way.__name__}: {seen[way.__name__][-1]}", file=sys.stderr)
    report(seen)


if __name__ == "__main__":
    main()
