"""``python -m tests.fuzz --seconds 120``: each target so long, from a seed, the number of inputs printed.

The seconds are of the processor's time, so that beside other work each target still gets as much of it. Two targets are
fed at a time.
"""

import argparse
import random
import signal
import sys
import time
from multiprocessing import Pool

from tests.fuzz.targets import targets


def fuzz(what: tuple[str, float, int]) -> int:
    """How many inputs the target of that name took in so many seconds of that seed; the one that breaks it is named."""
    name, seconds, seed = what
    target, n, until = targets()[name](), 0, time.process_time() + seconds
    while time.process_time() < until:
        try:
            target(random.Random(f"{seed} {n}"))
        except Exception:
            print(f"{name}: input {n} of seed {seed}", file=sys.stderr)
            raise
        n += 1
    return n


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seconds", type=float, default=120.0)
    asked.add_argument("--seed", type=int, default=int(time.time()))
    how = asked.parse_args()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    with Pool(2) as pool:  # what still runs ends with it
        asked_of = [(name, how.seconds, how.seed) for name in targets()]
        for (name, _, _), taken in zip(asked_of, pool.imap(fuzz, asked_of), strict=True):
            print(f"{name}: {taken:,} inputs in {how.seconds:g} s of work, seed {how.seed}", flush=True)



if __name__ == "__main__":
    main()
