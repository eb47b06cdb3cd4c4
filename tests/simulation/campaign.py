"""``python -m tests.simulation --seeds 1000``: so many lives, on all cores, going on where it was stopped.

``--alone SEED`` lives one and tells all that happened in it.
"""

import argparse
import gc
import json
import os
import signal
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from multiprocessing import get_context
from pathlib import Path
from typing import TextIO

from tests.simulation.life import LIFE_S, Life, Lived

RAM = Path("/dev/shm")
MOST_CPU_S = 300.0
"""A life that takes a hundred times what others do goes round in a circle."""


class Stuck(KeyboardInterrupt):
    """No event loop holds that up."""


def _stuck(*_: object) -> None:
    raise Stuck


def lived(seed: int) -> Lived:
    """One life in a folder of its own, in memory where there is such a place: nothing here cuts the power."""
    signal.signal(signal.SIGVTALRM, _stuck)
    with tempfile.TemporaryDirectory(dir=RAM if RAM.is_dir() else None) as folder:
        signal.setitimer(signal.ITIMER_VIRTUAL, MOST_CPU_S, MOST_CPU_S)  # again, where a finaliser swallowed it
        try:
            return Life(seed, Path(folder)).live()
        except Stuck:
            return Lived(seed, [f"it does not go on: {MOST_CPU_S:.0f} s of computing, and not over"], "", [], 0.0, 0)
        except Exception as fault:
            return Lived(seed, [f"the simulation itself: {fault!r}"], "", [], 0.0, 0)
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)


def all_lived(seeds: list[int], jobs: int) -> Iterator[Lived]:
    if jobs == 1:
        gc.freeze()
        yield from map(lived, seeds)
        return
    # What a life leaves in memory goes with its process; what the modules hold is not searched for garbage in each.
    with get_context("spawn").Pool(jobs, gc.freeze, maxtasksperchild=40) as pool:
        yield from pool.imap(lived, seeds)


def remembered(file: Path | None, seeds: Iterable[int]) -> list[Lived]:
    if file is None or not file.exists():
        return []
    wanted = set(seeds)
    rows = [Lived(*json.loads(line)) for line in file.read_text("utf-8").splitlines()]
    return [row for row in rows if row.seed in wanted]


def campaign(seeds: list[int], jobs: int, resume: Path | None, stop_at_first: bool) -> list[Lived]:
    done = remembered(resume, seeds)
    left = [seed for seed in seeds if seed not in {each.seed for each in done}]
    out = _opened(resume) if resume else None
    began = time.monotonic()
    for count, each in enumerate(all_lived(left, jobs), 1):
        done.append(each)
        if out:
            out.write(json.dumps(each._replace(log=each.log if each.failures else [])) + "\n")
            out.flush()
        _progress(len(done), len(seeds), count / (time.monotonic() - began))
        if each.failures:
            print(f"\nseed {each.seed}: {each.failures[0]}\n  alone: make simulate ALONE={each.seed}", flush=True)
            if stop_at_first:
                break
    return done


def _opened(file: Path) -> TextIO:
    file.parent.mkdir(parents=True, exist_ok=True)
    return file.open("a", encoding="utf-8")


def _progress(done: int, of: int, per_s: float) -> None:
    bar = "█" * round(30 * done / of)
    said = f"\r{bar:·<30} {done}/{of} lives, {per_s * LIFE_S:,.0f} × life"
    print(said, end="" if done < of else "\n", file=sys.stderr, flush=True)


def summary(done: list[Lived]) -> str:
    failed = sorted(each.seed for each in done if each.failures)
    hours = sum(each.seconds for each in done) / 3600.0
    starts = sum(each.lives for each in done)
    text = f"{len(done)} seeds, {hours:,.1f} h of life, {starts:,} starts of the daemon, {len(failed)} failed"
    return text + (f": {', '.join(map(str, failed))}" if failed else "")


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.simulation", description=__doc__)
    parser.add_argument("--seeds", type=int, default=100, help="how many")
    parser.add_argument("--from", dest="first", type=int, default=1, help="the first of them")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--resume", type=Path, help="where outcomes are kept, and gone on with")
    parser.add_argument("--stop", action="store_true", help="end at the first failure")
    parser.add_argument("--alone", type=int, help="this seed alone, with its log")
    wants = parser.parse_args()
    if wants.alone is not None:
        one = lived(wants.alone)
        print("\n".join([*one.log, f"trace {one.trace}", *one.failures]))
        return bool(one.failures)
    seeds = list(range(wants.first, wants.first + wants.seeds))
    done = campaign(seeds, wants.jobs, wants.resume, wants.stop)
    print(summary(done))
    return any(each.failures for each in done)

