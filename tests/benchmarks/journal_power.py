"""Two hundred emulated power cuts of a journal that is being written: acknowledged events lost, files damaged.

The same with synchronous=OFF is the control: if nothing is lost there, the emulation does not bite.
Needs strace. How it works: tests/journal/power_cuts.py.

    python -m tests.benchmarks.journal_power [--cuts 200] [--commits 400] [--seed 1]
"""

import argparse
import json
import random
import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1] / "journal")]

from power_cuts import cuts, record  # noqa: E402


def measure(synchronous, options):
    with tempfile.TemporaryDirectory() as folder:
        deeds = record(Path(folder), options.commits, synchronous)
        seen = list(cuts(deeds, options.cuts, random.Random(options.seed), Path(folder)))
    return {
        "cuts": len(seen),
        "cuts_that_lost_acknowledged_events": sum(each.found < each.acknowledged for each in seen),
        "cuts_that_left_damage": sum(not each.sound for each in seen),
        "cuts_a_new_daemon_could_not_go_on_after": sum(not each.goes_on for each in seen),
    }


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--cuts", type=int, default=200)
    options.add_argument("--commits", type=int, default=400)
    options.add_argument("--seed", type=int, default=1)
    options = options.parse_args()
    results = {synchronous: measure(synchronous, options) for synchronous in ("full", "off")}
    print(json.dumps({"bench": "journal_power", "results": results}))


if __name__ == "__main__":
    main()
