"""Forecast and warnings on seeded simulated shifts, beside what one would do otherwise and the limit of what can be.

    python -m tests.benchmarks.forecast --shifts 30 [--quick] [--resume FILE] [--jobs 2] [--seed-from N]
        [--sensors drawing,running,level+meter,level] [--family tuning,timetable,heavy] [--fault mixed|none|NAME]

Each shift appends one JSON line to the results file as soon as it is done. With `--resume FILE` those already in the
file are not played again; without, a new file is begun.
"""

import argparse
import json
from pathlib import Path

from simulated_feeds.random_rig import SENSORS
from simulated_feeds.shifts import FAMILIES
from tests.benchmarks.resumed import begin, play_all, records
from tests.benchmarks.shift import Shift, play
from tests.benchmarks.table import printed

RESULTS = Path("build/bench-forecast.jsonl")
QUICK_SHIFTS = 8


def main() -> None:
    said = _arguments()
    file = begin(said.resume, RESULTS)
    shifts = _shifts(said)
    done = {json.dumps(record["key"]) for record in records(file)}
    play_all(play, [s for s in shifts if json.dumps(s.key) not in done], file, said.jobs, "shifts")
    for line in printed(records(file)):
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


if __name__ == "__main__":
    main()
