"""What a reading costs a card: bytes stored, and bytes written to the device, journal and forecasts and all.

The file lies on a small ext4 image of its own, whose sector counter sees this load alone; every thirty seconds of the
load's own time the file system is synced, as the kernel does. Beside it the bare way: a row a reading in time order,
one transaction every five seconds. Both run once a round, in turn.
Needs root (losetup, mount); without it only the stored bytes are measured.

    python -m tests.benchmarks.journal_bytes [--seconds 3600] [--rounds 1] [--every 5]
"""

import argparse
import contextlib
import itertools
import json
import os
import sqlite3
import statistics
import subprocess
import tempfile
from pathlib import Path

from monitor.journal.writer import Journal
from tests.benchmarks.journal_load import PER_SECOND, commits


def ours(path, kind, seconds, every_s):
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock))
    for number, items in enumerate(commits(kind, seconds, every_s), 1):
        for item in items:
            journal.put(item)
        journal.step()
        sync_now_and_then(number * every_s)
    assert journal.status() == (True, "", "", 0, 0)
    journal.close()


def bare(path, kind, seconds, every_s):
    db = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode = wal", "synchronous = full"):
        db.execute(f"pragma {pragma}")
    db.execute("create table r(time_us integer, sensor_id integer, value real)")
    for number, items in enumerate(commits(kind, seconds, every_s), 1):
        rows = [
            (round(pack.at * 1e6), sensor, record.value)
            for pack in items
            if hasattr(pack, "records")
            for sensor, record in enumerate(pack.records)
        ]
        db.execute("begin")
        db.executemany("insert into r values (?, ?, ?)", rows)
        db.execute("commit")
        sync_now_and_then(number * every_s)
    db.execute("pragma wal_checkpoint(truncate)")
    db.close()


def sync_now_and_then(second):
    if second % 30 == 0:
        os.sync()


@contextlib.contextmanager
def card():
    """A folder on a device of its own, and a way to ask how many bytes it was given; None without root."""
    with tempfile.TemporaryDirectory() as folder:
        if os.geteuid():
            yield Path(folder), None
            return
        image, mount = Path(folder, "image"), Path(folder, "card")
        with image.open("wb") as file:
            file.truncate(512 << 20)
        mount.mkdir()
        subprocess.run(["mkfs.ext4", "-q", "-E", "lazy_itable_init=0,lazy_journal_init=0", image], check=True)
        found = subprocess.run(["losetup", "-f", "--show", image], check=True, capture_output=True, text=True)
        device = found.stdout.strip()
        try:
            subprocess.run(["mount", device, mount], check=True)
            try:
                yield mount, lambda: int(Path("/sys/block", Path(device).name, "stat").read_text().split()[6]) * 512
            finally:
                subprocess.run(["umount", mount], check=True)
        finally:
            subprocess.run(["losetup", "-d", device], check=True)


def measure(way, kind, seconds, every_s):
    readings = seconds * PER_SECOND
    with card() as (folder, written):
        os.sync()
        before = written() if written else 0
        way(folder / "journal.db", kind, seconds, every_s)
        os.sync()
        device = (written() - before) / readings if written else None
        return (folder / "journal.db").stat().st_size / readings, device


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--seconds", type=int, default=3600)
    options.add_argument("--every", type=int, default=5)
    options.add_argument("--rounds", type=int, default=1)
    options = options.parse_args()
    seen = {}
    for _ in range(options.rounds):
        for kind, way in itertools.product(("sensor", "hard"), (ours, bare)):
            seen.setdefault(f"{way.__name__}/{kind}", []).append(measure(way, kind, options.seconds, options.every))
    per_reading = {
        name: {
            "stored_B": round(statistics.median(stored for stored, _ in runs), 2),
            "device_B": None if runs[0][1] is None else round(statistics.median(device for _, device in runs), 1),
        }
        for name, runs in seen.items()
    }
    load = {"readings": options.seconds * PER_SECOND, "commit_s": options.every}
    print(json.dumps({"bench": "journal_bytes", **load, "per_reading": per_reading}))


if __name__ == "__main__":
    main()
