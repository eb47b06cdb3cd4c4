"""Nodes that talk as long as they are let: several readings a second, through programs nobody here wrote."""

import json
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

Pack = list[dict[str, Any]]


def level(height_m: float) -> Pack:
    return [{"bn": "tank/", "n": "level", "u": "m", "v": round(height_m, 5)}]


class Talker:
    """Writes a line into a program's standard input every `every_s` seconds, until it ends."""

    def __init__(self, program: list[str], say: Callable[[float], Pack], every_s: float, **how: Any) -> None:
        """`say` is given the seconds since the first line."""
        self._say, self._every_s = say, every_s
        self._ended = threading.Event()
        self._process = subprocess.Popen(program, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL, bufsize=0, **how)
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        began_s = time.monotonic()
        while not self._ended.is_set() and self._process.poll() is None:
            try:
                self._process.stdin.write(json.dumps(self._say(time.monotonic() - began_s)).encode() + b"\n")
            except OSError:  # the program has ended under it
                return
            self._ended.wait(self._every_s)

    def end(self) -> None:
        self._ended.set()
        self._thread.join()
        self._process.kill()
        self._process.wait()


@contextmanager
def talking(program: list[str], say: Callable[[float], Pack], every_s: float = 0.2, **how: Any) -> Iterator[Talker]:
    talker = Talker(program, say, every_s, **how)
    try:
        yield talker
    finally:
        talker.end()
