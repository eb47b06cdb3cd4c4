"""Where the time goes from publish to stream client, and which thread the processor's: behind `tests.benchmarks.chain`.

The daemon runs with stamps at its own turning points, three nodes ten times a second. Told are the medians of each
stage and what most of them stay under, then each thread's share of a core. On a machine that others use, `chrt -r 10`
before the command keeps them out of it (but not out of the client's last stage: the system's own work is kept waiting).

    python -m tests.benchmarks.chain_stages [--seconds 20]
"""

import argparse
import bisect
import json
import os
import signal
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from brokers import mosquitto
from daemons import holdwater, write_rig
from waiting import until

from tests.benchmarks.chain import WARM_UP_S, Watcher, publish, publisher

STAGES = ("heard by the feed", "decoded", "deciding begins", "decided", "state is JSON", "written to the client")
SHOWN = "shown by the client"
OUT = "STAGES_OUT"


def stamp(stamps, of, name, before=None, after=None):
    """Notes the time before and after each call of a method."""
    call = getattr(of, name)

    def stamped(*values, **more):
        if before is not None:
            stamps.append((time.perf_counter(), before))
        given = call(*values, **more)
        if after is not None:
            stamps.append((time.perf_counter(), after))
        return given

    setattr(of, name, stamped)


def daemon(arguments):
    """The command itself, with stamps; SIGUSR1 writes them, and the threads' names, to a file."""
    from uvicorn.protocols.http.h11_impl import RequestResponseCycle

    from monitor.cli import main
    from monitor.feeds.inbox import Inbox
    from monitor.feeds.mqtt import MqttFeed
    from monitor.pages.live import Live
    from monitor.rounds import Rounds

    stamps, send = [], RequestResponseCycle.send

    async def sent(cycle, message):
        await send(cycle, message)
        stamps.append((time.perf_counter(), 5))

    RequestResponseCycle.send = sent
    stamp(stamps, MqttFeed, "hear", before=0)
    stamp(stamps, Inbox, "pack", before=1)
    stamp(stamps, Rounds, "_round", before=2)
    stamp(stamps, Live, "_push", before=3, after=4)

    def write(*_):
        names = {each.native_id: each.name for each in threading.enumerate()}
        half = Path(os.environ[OUT] + ".half")
        half.write_text(json.dumps({"stamps": list(stamps), "threads": names}))
        half.replace(os.environ[OUT])

    signal.signal(signal.SIGUSR1, write)
    sys.argv = arguments
    main()


def threads_s(pid):
    """Seconds of processor each thread has taken."""
    tasks = Path(f"/proc/{pid}/task").iterdir()
    return {task.name: int((task / "schedstat").read_text().split()[0]) / 1e9 for task in tasks}


def measure(folder, seconds):
    under = (sys.executable, "-m", "tests.benchmarks.chain_stages", "--daemon")
    out = folder / "stages.json"
    env = os.environ | {OUT: str(out), "PYTHONPATH": str(Path(__file__).parents[2])}
    with mosquitto(folder) as broker:
        rig = write_rig(folder / "rig.toml", f'mqtt = "{broker.url}"')
        with holdwater(folder, "run", rig, under=under, env=env) as running:
            until(lambda: all(feed["ok"] for feed in running.state()["feeds"]), 20.0, "the broker is reached")
            sent_s = []
            watcher = Watcher(int(running.url.rstrip("/").rpartition(":")[2]), sent_s)
            sock = publisher(broker.port)
            publish(sock, sent_s, WARM_UP_S)
            known, before, begun = len(sent_s), threads_s(running.process.pid), time.perf_counter()
            publish(sock, sent_s, seconds)
            after, took_s = threads_s(running.process.pid), time.perf_counter() - begun
            until(lambda: watcher.seen == len(sent_s), 20.0, "all that was sent is shown")
            running.tell(signal.SIGUSR1)
            until(out.exists, 20.0, "the stamps are written")
    seen = json.loads(out.read_text())
    share = {
        seen["threads"].get(task, "ended"): (cpu_s - before.get(task, 0.0)) / took_s * 100
        for task, cpu_s in after.items()
    }
    return ways(seen["stamps"], sent_s[known:], watcher.delays_ms[known:]), share


def ways(stamps, sent_s, delays_ms):
    """For each pack the milliseconds since it was sent at which it stood at each stage, the client's last."""
    at_s = [[at for at, stage in stamps if stage == number] for number in range(len(STAGES))]
    found = []
    for sent, delay_ms in zip(sent_s, delays_ms, strict=True):
        way, now = [], sent
        for stage in at_s:
            place = bisect.bisect_left(stage, now)
            now = stage[place] if place < len(stage) else now
            way.append((now - sent) * 1000)
        found.append([*way, max(delay_ms, way[-1])])
    return found


def main():
    if sys.argv[1:2] == ["--daemon"]:
        daemon(sys.argv[2:])
        return
    options = argparse.ArgumentParser()
    options.add_argument("--seconds", type=int, default=20)
    options = options.parse_args()
    with tempfile.TemporaryDirectory() as name:
        found, share = measure(Path(name), options.seconds)
    print(f"{'ms since publish':<24}{'median':>8}{'stage':>8}{'95 %':>8}{'99 %':>8}")
    before = 0.0
    for name, column in zip([*STAGES, SHOWN], map(sorted, zip(*found, strict=True)), strict=True):
        median, *high = (column[int(part * (len(column) - 1))] for part in (0.5, 0.95, 0.99))
        print(f"{name:<24}{median:>8.2f}{median - before:>8.2f}{high[0]:>8.2f}{high[1]:>8.2f}")
        before = median
    for name, percent in sorted(share.items(), key=lambda each: -each[1]):
        print(f"{name:<24}{percent:>8.2f} % of a core")
    print(json.dumps({"bench": "chain_stages", "median_ms": [statistics.median(c) for c in zip(*found, strict=True)],
                      "cpu_percent": share}))  # fmt: skip


if __name__ == "__main__":
    main()
