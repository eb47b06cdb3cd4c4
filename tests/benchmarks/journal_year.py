"""A picture of a year: eight signals in a thousand points, out of a journal with a row for each of its minutes.

The rows are written straight into the minute table and made into half hours by the journal's own migration; each day
is a run of its own, as on a rig that is switched off at night. Beside it the same question answered by minutes alone.

    python -m tests.benchmarks.journal_year [--days 365] [--folder FOLDER]
"""

import argparse
import json
import random
import statistics
import tempfile
import time
from pathlib import Path
from unittest import mock

from monitor.journal import history, schema
from monitor.journal.history import History
from monitor.journal.rollup import MINUTE
from tests.benchmarks.journal_history import NAMES, START

DAY_S, POINTS = 86_400, 1000
WINDOWS = {"a day": 1, "a month": 30, "a season": 92, "a year": 365}
MOST_S = 1.0


def build(path, days):
    with mock.patch.object(schema, "PRAGMAS", ("journal_mode = wal", "synchronous = off")):
        db = schema.open_to_write(path)
        with db.atomic():
            db.conn.executemany("insert into signal(name, unit) values (?, 'm')", [(name,) for name in NAMES])
            for run in range(1, days + 1):
                began = START + (run - 1) * DAY_S
                db.execute("insert into run(began_us, upto_us, wall_us, began_by) values (?, ?, ?, 'start')",
                           (began * 10**6, (began + DAY_S) * 10**6 - 1, began * 10**6))  # fmt: skip
            for signal in range(1, len(NAMES) + 1):
                db.conn.executemany("insert into minute values (?, ?, ?, ?, ?, ?, ?)", minutes(signal, days))
            db["half_hour"].drop()
            db["_sqlite_migrations"].delete_where("name = 'half_hours'")
        db.close()
        begun = time.perf_counter()
        schema.open_to_write(path).close()
        return round(time.perf_counter() - begun, 1)


def minutes(signal, days):
    chance = random.Random(signal)
    for number in range(days * 1440):
        minute = START // 60 + number
        yield signal, number // 1440 + 1, minute, 600, -chance.random(), chance.random(), 1 + chance.random()


def ask_s(path, end, days):
    begun = time.perf_counter()
    lines = History(path).series(NAMES, end - days * DAY_S, end, POINTS)
    took_s = time.perf_counter() - begun
    assert all(len(line.points) > POINTS / 2 for line in lines)
    return took_s


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--days", type=int, default=365)
    options.add_argument("--folder", default=None)
    options = options.parse_args()
    with tempfile.TemporaryDirectory(dir=options.folder) as folder:
        path = Path(folder) / "journal.db"
        seen = {"brought_up_to_date_s": build(path, options.days), "mb": round(path.stat().st_size / 1e6)}
        end = START + options.days * DAY_S
        for name, days in WINDOWS.items():
            both_s = []
            for _ in range(3):
                with mock.patch.object(history, "HALF_HOUR", MINUTE):
                    by_minutes_s = ask_s(path, end, days)
                both_s.append((ask_s(path, end, days), by_minutes_s))
            took_s, by_minutes_s = (statistics.median(each) for each in zip(*both_s, strict=True))
            seen[name] = {"s": round(took_s, 3), "by_minutes_s": round(by_minutes_s, 3)}
            print(f"{name:<10}{took_s:>8.3f} s, by minutes {by_minutes_s:.3f} s; at most {MOST_S:g} s: "
                  f"{'met' if took_s <= MOST_S else 'missed'}")  # fmt: skip
    print(json.dumps({"bench": "journal_year", "seen": seen}))


if __name__ == "__main__":
    main()
