"""The fault campaign: seeded cases of one to four hours on random rigs, crews and sensors, each with its fault.

    python -m tests.benchmarks.faults --cases 300 [--resume FILE] [--jobs 2] [--from N] [--only "dead meter"] [--misses]

Each case appends one JSON line to the results file as soon as it is done. With `--resume FILE` those already in the
file are not played again; without, a new file is begun.
"""

import argparse
import json
import sys
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any

from tests.benchmarks.fault_case import case, play
from tests.benchmarks.fault_table import misses, printed

RESULTS = Path("build/bench-faults.jsonl")


def main() -> None:
    said = _arguments()
    file = said.resume or RESULTS
    file.parent.mkdir(parents=True, exist_ok=True)
    if said.resume is None:
        file.write_text("", encoding="utf-8")
    numbers = [n for n in range(said.first, said.first + said.cases) if said.only in ("", case(n).what)]
    done = {record["key"] for record in _records(file)}
    _play([n for n in numbers if n not in done], file, said.jobs)
    records = [record for record in _records(file) if record["key"] in numbers]
    for line in [*(misses(records) if said.misses else ()), *printed(records)]:
        print(line)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.faults", description="The fault campaign.")
    parser.add_argument("--cases", type=int, default=30)
    parser.add_argument("--from", type=int, default=0, dest="first", metavar="N")
    parser.add_argument("--only", default="", help="one kind of fault")
    parser.add_argument("--misses", action="store_true", help="name each case that was missed or wrong")
    parser.add_argument("--resume", type=Path, metavar="FILE")
    parser.add_argument("--jobs", type=int, default=2)
    return parser.parse_args()


def _records(file: Path) -> list[dict[str, Any]]:
    """What the file holds; a line cut off by a stop does not count."""
    records = []
    for line in file.read_text(encoding="utf-8").splitlines() if file.exists() else ():
        try:
            records.append(json.loads(line))
        except ValueError:
            continue
    return sorted(records, key=lambda record: record["key"])


def _play(numbers: list[int], file: Path, jobs: int) -> None:
    began = time.monotonic()
    with ProcessPoolExecutor(jobs) as pool, file.open("a", encoding="utf-8") as out:
        for n, future in enumerate(as_completed([pool.submit(play, number) for number in numbers]), 1):
            out.write("\n" * (n == 1) + json.dumps(future.result()) + "\n")
            out.flush()
            _progress(n, len(numbers), time.monotonic() - began)


def _progress(done: int, many: int, took_s: float) -> None:
    bar = "#" * (30 * done // many)
    left_s = took_s / done * (many - done)
    print(f"\r[{bar:30}] {done}/{many} cases, {left_s:.0f} s left ", end="", file=sys.stderr, flush=True)
    if done == many:
        print(file=sys.stderr)


if __name__ == "__main__":
    main()
