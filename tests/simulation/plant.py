"""``python -m tests.simulation.plant``: bugs put in on purpose, one at a time, and the seed that catches each.

A bug is a patch in ``planted/``; its first line says what it is. Each is put into a copy of the tree and lived with,
seed after seed, until a check fails.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

HOME = Path(__file__).parents[2]
PATCHES = sorted((Path(__file__).parent / "planted").glob("*.patch"))
COPIED = ("monitor", "simulated_feeds", "dashboards", "tests/simulation")


def patch(tree: Path, file: Path, *options: str) -> subprocess.CompletedProcess[str]:
    """Exactly as it was made: a patch that has to be pushed is out of date."""
    command = ["git", "apply", "--recount", *options, str(file)]
    env = {**os.environ, "GIT_DIR": "none"}  # the copy is no repository, whatever stands above it
    return subprocess.run(command, cwd=tree, capture_output=True, text=True, check=False, env=env)


@contextmanager
def planted(file: Path) -> Iterator[Path]:
    """A copy of the tree with that bug in it."""
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder)
        for part in COPIED:
            shutil.copytree(HOME / part, tree / part, ignore=shutil.ignore_patterns("__pycache__"))
        done = patch(tree, file)
        if done.returncode:
            raise RuntimeError(f"{file.name} does not apply: {done.stderr}")
        yield tree


def caught_by(file: Path, seeds: int, jobs: int) -> tuple[int | None, str]:
    """The first seed that fails with the bug in, and what it said."""
    with planted(file) as tree:
        kept = tree / "lived.jsonl"
        command = [sys.executable, "-m", "tests.simulation", "--stop", "--resume", str(kept)]
        command += ["--seeds", str(seeds), "--jobs", str(jobs)]
        env = {**os.environ, "PYTHONPATH": str(tree)}
        lived = subprocess.run(command, cwd=tree, capture_output=True, text=True, check=False, env=env)
        if "Traceback" in lived.stderr:
            raise RuntimeError(lived.stderr)
        rows = [json.loads(line) for line in kept.read_text("utf-8").splitlines()]
    return next(((row[0], row[1][0]) for row in rows if row[1]), (None, ""))


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.plant", description=__doc__)
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("bugs", nargs="*", help="these alone, by name")
    wants = parser.parse_args()
    missed = 0
    for file in PATCHES:
        if wants.bugs and file.stem not in wants.bugs:
            continue
        seed, said = caught_by(file, wants.seeds, wants.jobs)
        what = file.read_text("utf-8").partition("\n")[0]
        missed += seed is None
        found = f"seed {seed:4}" if seed is not None else "NOT CAUGHT"
        print(f"{found}  {file.stem:22} {what}\n           {said[:150]}", flush=True)
    print(f"{missed} not caught within {wants.seeds} seeds" if missed else "All of them are caught.")
    return bool(missed)


if __name__ == "__main__":
    sys.exit(main())
