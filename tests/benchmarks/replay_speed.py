"""How fast a recorded day replays, beside the barest replay of the same file, in turn.

The level at 10 Hz, two pumps with both signals, a meter, every pack with its count. Both store in SQLite what they read
and what they make of it, durably, in transactions of so many: ours readings, forecasts and alarms in the journal's own
form, bare a row for each reading and an estimate for each line. Bare makes it by each line's JSON and a filter of two
states for each reading. Targets: at least 0.3 times the bare one, a thousand times life, eight hours in under 30 s.

The first is missed, since bare decides nothing: of ours, sampled a hundred times a second, the core's own sorting and
judging takes 28 % of the samples, the forecast's paths 23 %, the balance's filters 22 %, reading lines 15 %, storing
6 %, alarms 3 %, the tank 2 %. All but reading and storing, nearly four fifths, is deciding.

    py-spy record -f raw -o SAMPLES -- python -m tests.benchmarks.replay_speed 1 --rounds 1

    python -m tests.benchmarks.replay_speed [HOURS] [--rounds 3]
"""

import argparse
import json
import sqlite3
import statistics
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from trailer import record_a_day, rig

from monitor.core import Core
from monitor.feeds.recorded import events, lines
from monitor.journal.retention import Keep
from monitor.journal.store import Store
from tests.benchmarks.chain import Bare

TOGETHER = 4096
MOST_S_FOR_EIGHT_HOURS, LEAST_OF_BARE, LEAST_OF_LIFE = 30.0, 0.3, 1000.0


def ours(path, out):
    core, store, items = Core(rig()), Store(out, Keep(), "benchmark", 0), []
    with closing(store), path.open("rb") as source:
        for event in events(lines(source), "mqtt 1"):
            items.append(event)
            items += core.take(event)
            if len(items) >= TOGETHER:
                store.write(items, None)
                items = []
        store.write(items, None)


def bare(path, out):
    """Every number of every line through a filter of its own; it is stored, and what is believed after each line."""
    chain, filters, rows, beliefs = Bare.__new__(Bare), {}, [], []
    with closing(sqlite3.connect(out, isolation_level=None)) as db, path.open("rb") as lines:
        db.execute("pragma journal_mode = wal")
        db.execute("create table r(at real, name text, value real)")
        db.execute("create table e(at real, volume real, flow real)")
        for line in lines:
            said = json.loads(line)
            at, name = said["at"], None
            for record in said.get("pack", ()):
                name, seen = record.get("n"), record.get("v", record.get("vb", 0.0))
                filters[name] = chain.filtered(filters.get(name, (0.0, 0.0, 100.0, 0.0, 1.0)), float(seen))
                rows.append((at, name, seen))
            if name is not None:
                beliefs.append((at, *filters[name][:2]))
            if len(rows) >= TOGETHER:
                store(db, rows, beliefs)
        store(db, rows, beliefs)


def store(db, rows, beliefs):
    db.execute("begin")
    db.executemany("insert into r values (?, ?, ?)", rows)
    db.executemany("insert into e values (?, ?, ?)", beliefs)
    db.execute("commit")
    rows.clear()
    beliefs.clear()


def timed(play):
    begun, begun_cpu = time.perf_counter(), time.process_time()
    play()
    return time.perf_counter() - begun, time.process_time() - begun_cpu


def main():
    options = argparse.ArgumentParser()
    options.add_argument("hours", type=int, nargs="?", default=8)
    options.add_argument("--rounds", type=int, default=3)
    options = options.parse_args()
    hours, runs = options.hours, {"ours": [], "bare": []}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "day.jsonl"
        record_a_day(path, hours, level_hz=10)
        for number in range(options.rounds):
            runs["ours"].append(timed(lambda: ours(path, folder / f"ours{number}.db")))  # noqa: B023
            runs["bare"].append(timed(lambda: bare(path, folder / f"bare{number}.db")))  # noqa: B023
        print(f"{hours} h of feed, {path.stat().st_size / 1e6:.0f} MB")
    wall, cpu = ({way: statistics.median(run[k] for run in each) for way, each in runs.items()} for k in (0, 1))
    for figure, value, bound in (
        ("times the bare replay (processor time)", cpu["bare"] / cpu["ours"], LEAST_OF_BARE),
        ("times life (processor time)", hours * 3600 / cpu["ours"], LEAST_OF_LIFE),
        ("times life (this machine's load and all)", hours * 3600 / wall["ours"], LEAST_OF_LIFE),
    ):
        print(f"{figure:<42}{value:>10.2f}  at least {bound:g}: {'met' if value >= bound else 'missed'}")
    eight_s = 8 / hours * wall["ours"]
    met = "met" if eight_s <= MOST_S_FOR_EIGHT_HOURS else "missed"
    print(f"{'s for eight hours':<42}{eight_s:>10.2f}  at most {MOST_S_FOR_EIGHT_HOURS:g}: {met}")
    print(json.dumps({"bench": "replay_speed", "wall_cpu_s": runs}))


if __name__ == "__main__":
    main()
