"""Long campaigns: each case writes one JSON line as soon as it is done; those already there are not played again."""

import json
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any

Record = dict[str, Any]


def begin(resume: Path | None, otherwise: Path) -> Path:
    """The file to go on with, or a new one."""
    file = resume or otherwise
    file.parent.mkdir(parents=True, exist_ok=True)
    if resume is None:
        file.write_text("", encoding="utf-8")
    return file


def records(file: Path) -> list[Record]:
    """What the file holds, by key; a line cut off by a stop does not count."""
    found = []
    for line in file.read_text(encoding="utf-8").splitlines() if file.exists() else ():
        try:
            found.append(json.loads(line))
        except ValueError:
            continue
    return sorted(found, key=lambda record: record["key"] if isinstance(record["key"], int) else record["key"][0])


def play_all(play: Callable[[Any], Record], cases: Sequence[Any], file: Path, jobs: int, what: str) -> None:
    """`play` has to be a module's own function: it is called in other processes."""
    began = time.monotonic()
    with ProcessPoolExecutor(jobs) as pool, file.open("a", encoding="utf-8") as out:
        for n, future in enumerate(as_completed([pool.submit(play, case) for case in cases]), 1):
            out.write("\n" * (n == 1) + json.dumps(future.result()) + "\n")
            out.flush()
            _progress(n, len(cases), what, time.monotonic() - began)


def _progress(done: int, many: int, what: str, took_s: float) -> None:
    bar = "#" * (30 * done // many)
    left_s = took_s / done * (many - done)
    print(f"\r[{bar:30}] {done}/{many} {what}, {left_s:.0f} s left ", end="", file=sys.stderr, flush=True)
    if done == many:
        print(file=sys.stderr)
