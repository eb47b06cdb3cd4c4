"""Waiting for what must come, without sleeping for a guessed time."""

import threading
import time
from collections.abc import Callable
from typing import TypeVar

T = TypeVar("T")


def until(condition: Callable[[], T], within_s: float = 10.0, what: str = "") -> T:
    """The condition's first true result; fails the test if there is none in time."""
    pause, deadline = threading.Event(), time.monotonic() + within_s
    while not (result := condition()):
        left_s = deadline - time.monotonic()
        assert left_s > 0, f"not within {within_s:g} s: {what or condition}"
        pause.wait(min(0.02, left_s))
    return result
