"""Forecast and warnings on seeded simulated shifts, beside what one would do otherwise and the limit of what can be.

    python -m tests.benchmarks.forecast --shifts 30 [--quick] [--resume FILE] [--jobs 2] [--seed-from N]
        [--sensors drawing,running,level+meter,level] [--family tuning,timetable,heavy] [--fault mixed|none|NAME]

Each shift appends one JSON line to the results file as soon as it is done. With `--resume FILE` those already in the
file are not played again; without, a new file is begun.
"""

import argparse
import json
import sys
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

from simulated_feeds.random_rig import SENSORS
from simulated_feeds.shifts import FAMILIES
from tests.benchmarks.shift import Shift, play
from tests.benchmarks.table import Record, printed

RESULTS = Path("build/bench-forecast.jsonl")
QUICK_SHIFTS = 8


def main() -> None:
    said = _arguments()
    file = said.resume or RESULTS
    file.parent.mkdir(parents=True, exist_ok=True)
    if said.resume is None:
        file.write_text("", encoding="utf-8")
    shifts = _shifts(said)
    done = {json.dumps(record["key"]) for record in _records(file)}
    _play([s for s in shifts if json.dumps(s.key) not in done], file, said.jobs)
    for line in printed(_records(file)):
        print(line)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.forecast", description="Benchmark the forecast.")
    parser.add_argument("--shifts", type=int, default=None)
    parser.add_argument("--quick", action="store_true", help="eight shifts, no oracle")
    parser.add_argument("--no-oracle", action="store_true")
    parser.add_argument("--resume", type=Path, metavar="FILE")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--seed-from", type=int, default=1)
    parser.add_argument("--sensors", default=",".join(reversed(SENSORS)))
    parser.add_argument("--family", default=",".join(FAMILIES))
    parser.add_argument("--fault", default="mixed")
    return parser.parse_args()


def _shifts(said: argparse.Namespace) -> list[Shift]:
    """Crews change from shift to shift, sensors a little slower, so that every pair comes up."""
    families, sensors = said.family.split(","), said.sensors.split(",")
    many = said.shifts or (QUICK_SHIFTS if said.quick else 30)
    fault = None if said.fault == "none" else said.fault
    oracle = not (said.quick or said.no_oracle)
    return [
        Shift(said.seed_from + i, families[i % len(families)], sensors[(i + i // 12) % len(sensors)], fault, oracle)
        for i in range(many)
    ]


def _records(file: Path) -> list[Record]:
    """What the file holds; a line cut off by a stop does not count."""
    if not file.exists():
        return []
    records = []
    for line in file.read_text(encoding="utf-8").splitlines():
        try:
            records.append(json.loads(line))
        except ValueError:
            continue
    return sorted(records, key=lambda record: record["key"][0])


def _play(shifts: list[Shift], file: Path, jobs: int) -> None:
    began = time.monotonic()
    with ProcessPoolExecutor(jobs) as pool, file.open("a", encoding="utf-8") as out:
        for n, future in enumerate(as_completed([pool.submit(play, shift) for shift in shifts]), 1):
            out.write("\n" * (n == 1) + json.dumps(future.result()) + "\n")
            out.flush()
            _progress(n, len(shifts), time.monotonic() - began)


def _progress(done: int, many: int, took_s: float) -> None:
    bar = "#" * (30 * done // many)
    left_s = took_s / done * (many - done)
    print(f"\r[{bar:30}] {done}/{many} shifts, {left_s:.0f} s left ", end="", file=sys.stderr, flush=True)
    if done == many:
        print(file=sys.stderr)


if __name__ == "__main__":
    main()
