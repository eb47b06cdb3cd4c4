"""A day of eight signals in a thousand points, while the journal grows: beside a bare query of a minute table.

Both lie in the same folder and are asked in turn. Millions of readings are written through the journal's own store.

    python -m tests.benchmarks.journal_history [--sizes 10,50] [--repeats 9] [--folder FOLDER]
"""

import argparse
import json
import os
import sqlite3
import statistics
import tempfile
import time
from contextlib import closing
from pathlib import Path

from monitor.journal import schema
from monitor.journal.history import History
from monitor.journal.retention import Keep
from monitor.journal.store import Store
from monitor.journal.writer import EVERY_S as COMMIT_S
from monitor.readings import Pack, Record
from tests.benchmarks.journal_load import AT

SIGNALS, HERTZ, DAY_S, POINTS = 8, 10, 86_400, 1000
NAMES = [f"tank/{n}" for n in range(SIGNALS)]
ALL = Keep(raw_days=1e6, size_mb=1e6)
START = AT // 60 * 60


def value(tick, signal):
    return 1200.0 + (tick * SIGNALS + signal) * 7919 % 4001 / 8.0


def pack(tick):
    records = tuple([Record(name, "m", value(tick, k)) for k, name in enumerate(NAMES)])
    return Pack(START + tick / HERTZ, "mqtt 1", "tank", records)


def build(folder, readings):
    """The journal and the bare minute table of the same values; the end of both."""
    ticks = readings // SIGNALS
    schema.PRAGMAS = ("journal_mode = wal", "synchronous = off", "secure_delete = off")
    store = Store(folder / "journal.db", ALL, "start", 0)
    lately = ticks - 3600 * HERTZ
    for batch in (range(0, lately, 3000), range(lately, ticks, round(COMMIT_S) * HERTZ)):  # the last hour as in life
        for first in batch:
            store.write([pack(tick) for tick in range(first, min(batch.stop, first + batch.step))], None)
    store.close()
    with closing(sqlite3.connect(folder / "journal.db")) as ours, closing(sqlite3.connect(folder / "bare.db")) as bare:
        bare.execute("create table m(sensor_id integer, minute integer, n integer, lo real, sum real, hi real,"
                     " primary key(sensor_id, minute)) without rowid")  # fmt: skip
        rows = ours.execute("select signal, minute, n, lo, mean * n, hi from minute where signal <= 8")
        bare.executemany("insert into m values (?, ?, ?, ?, ?, ?)", rows)
        bare.commit()
    return START + ticks / HERTZ


def ask_bare(path, since, until):
    since_us, until_us = round(since * 1e6), round(until * 1e6)
    width = (until_us - since_us) // POINTS
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as db:
        return [
            db.execute(
                f"select (minute*60000000-{since_us})/{width} b, min(lo), sum(sum)/sum(n), max(hi) from m"
                f" where sensor_id={s} and minute>={since_us // 60000000} and minute<{until_us // 60000000} group by b"
            ).fetchall()
            for s in range(1, SIGNALS + 1)
        ]


def ask_ours(path, since, until):
    return History(path).series(NAMES, since, until, POINTS)


def forget(path):
    """Drops the file from the page cache."""
    with path.open("rb") as file:
        os.fsync(file.fileno())
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def timed(ask, path, since, until):
    start = time.perf_counter()
    answer = ask(path, since, until)
    assert all(len(each) > 2 for each in answer)
    return (time.perf_counter() - start) * 1000


def measure(folder, end, repeats):
    ways = {"ours": (ask_ours, folder / "journal.db"), "bare": (ask_bare, folder / "bare.db")}
    figures = {}
    for name, (ask, path) in ways.items():
        forget(path)
        figures[f"{name}_cold_ms"] = round(timed(ask, path, end - DAY_S, end), 1)
    warm = {name: [] for name in ways}
    for _ in range(repeats):
        for name, (ask, path) in ways.items():
            warm[name].append(timed(ask, path, end - DAY_S, end))
    figures |= {f"{name}_warm_ms": round(statistics.median(runs), 1) for name, runs in warm.items()}
    figures["ours_over_bare"] = round(statistics.median(warm["ours"]) / statistics.median(warm["bare"]), 2)
    hour = [timed(ask_ours, folder / "journal.db", end - 3600, end) for _ in range(3)]
    figures["an_hour_of_raw_ms"] = round(statistics.median(hour), 1)
    return figures


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--sizes", default="10,50")
    options.add_argument("--repeats", type=int, default=9)
    options.add_argument("--folder", default=None)
    options = options.parse_args()
    results = {}
    for size in options.sizes.split(","):
        with tempfile.TemporaryDirectory(dir=options.folder) as folder:
            readings = int(float(size) * 1e6)
            end = build(Path(folder), readings)
            bytes_each = round(Path(folder, "journal.db").stat().st_size / readings, 2)
            results[f"{size} M"] = measure(Path(folder), end, options.repeats) | {"stored_B": bytes_each}
    print(json.dumps({"bench": "journal_history", "results": results}))


if __name__ == "__main__":
    main()
