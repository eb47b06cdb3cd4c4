"""The fault campaign: seeded cases of one to four hours on random rigs, crews and sensors, each with its fault.

    python -m tests.benchmarks.faults --cases 300 [--resume FILE] [--jobs 2] [--from N] [--only "dead meter"] [--misses]

Each case appends one JSON line to the results file as soon as it is done. With `--resume FILE` those already in the
file are not played again; without, a new file is begun.
"""

import argparse
from pathlib import Path

from tests.benchmarks.fault_case import case, play
from tests.benchmarks.fault_table import misses, printed
from tests.benchmarks.resumed import begin, play_all, records

RESULTS = Path("build/bench-faults.jsonl")


def main() -> None:
    said = _arguments()
    file = begin(said.resume, RESULTS)
    numbers = [n for n in range(said.first, said.first + said.cases) if said.only in ("", case(n).what)]
    done = {record["key"] for record in records(file)}
    play_all(play, [n for n in numbers if n not in done], file, said.jobs, "cases")
    played = [record for record in records(file) if record["key"] in numbers]
    for line in [*(misses(played) if said.misses else ()), *printed(played)]:
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


if __name__ == "__main__":
    main()
