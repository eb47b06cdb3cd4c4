"""``python -m tests.fuzz --seconds 120``: each target so long, from a seed, the number of inputs printed."""

import argparse
import random
import sys
import time

from tests.fuzz.targets import targets


def fuzz(name: str, seconds: float, seed: int) -> int:
    """How many inputs were taken; the one that breaks it is named."""
    target, n, until = targets()[name], 0, time.monotonic() + seconds
    while time.monotonic() < until:
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
    for name in targets():
        print(f"{name}: {fuzz(name, how.seconds, how.seed):,} inputs in {how.seconds:g} s, seed {how.seed}", flush=True)


if __name__ == "__main__":
    main()
