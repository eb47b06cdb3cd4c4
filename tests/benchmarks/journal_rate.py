"""How fast the journal takes readings, and what it costs the processor, beside the bare way.

Bare: `executemany` of (time, sensor, value) into a table in time order, WAL and FULL, the same batches. Both run in
turn, so that slow moments of the machine hit both. Also: how long `put` keeps its caller.

    python -m tests.benchmarks.journal_rate [--seconds 300] [--rounds 5]
"""

import argparse
import itertools
import json
import sqlite3
import statistics
import tempfile
import time
from pathlib import Path

from monitor.journal.writer import Journal
from tests.benchmarks.journal_load import PER_SECOND, commits


def ours(path, batches):
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock))
    journal.step()
    for items in batches:
        for item in items:
            journal.put(item)
        journal.step()
    assert journal.status().waiting == 0
    return journal.close


def bare(path, batches):
    db = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode = wal", "synchronous = full"):
        db.execute(f"pragma {pragma}")
    db.execute("create table r(time_us integer, sensor_id integer, value real)")
    for items in batches:
        rows = []
        for item in items:
            if hasattr(item, "records"):
                at_us = round(item.at * 1e6)
                rows += [(at_us, sensor, record.value) for sensor, record in enumerate(item.records)]
        db.execute("begin")
        db.executemany("insert into r values (?, ?, ?)", rows)
        db.execute("commit")
    return db.close


def measure(way, batches, readings):
    with tempfile.TemporaryDirectory() as folder:
        wall, cpu = time.perf_counter(), time.process_time()
        close = way(Path(folder, "journal.db"), batches)
        wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
        close()
    return readings / wall, cpu / readings * 1e6


def put_us(batches):
    """The time `put` keeps its caller, while a thread writes: median and worst of a hundred thousand."""
    with tempfile.TemporaryDirectory() as folder:
        journal = Journal(Path(folder, "journal.db"), longest=10**9)
        journal.start()
        spent = []
        for item in itertools.islice(itertools.chain.from_iterable(batches), 100_000):
            start = time.perf_counter()
            journal.put(item)
            spent.append((time.perf_counter() - start) * 1e6)
        journal.close()
    return [round(statistics.median(spent), 2), round(sorted(spent)[-len(spent) // 1000], 1), round(max(spent), 1)]


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--seconds", type=int, default=300)
    options.add_argument("--rounds", type=int, default=5)
    options = options.parse_args()
    batches = list(commits("sensor", options.seconds))
    readings = options.seconds * PER_SECOND
    seen = {"ours": [], "bare": []}
    for _ in range(options.rounds):
        for way in (ours, bare):
            seen[way.__name__].append(measure(way, batches, readings))
    median = {name: [statistics.median(column) for column in zip(*runs, strict=True)] for name, runs in seen.items()}
    print(json.dumps({
        "bench": "journal_rate", "readings": readings,
        "readings_per_s": {name: round(rate) for name, (rate, _) in median.items()},
        "cpu_us_per_reading": {name: round(cpu, 2) for name, (_, cpu) in median.items()},
        "rate_over_bare": round(median["ours"][0] / median["bare"][0], 2),
        "put_us_p50_p99.9_max": put_us(batches),
    }))  # fmt: skip


if __name__ == "__main__":
    main()
