"""Nodes that the rig file does not know may speak, so that the owner sees them; they must not hold up the others."""

import time
from collections.abc import Callable, Collection

BURST, PER_S = 500.0, 200.0


class Strangers:
    """One bucket for all of them together, that fills with time. `known` are the rig file's own nodes."""

    def __init__(self, known: Collection[str], monotonic: Callable[[], float] = time.monotonic) -> None:
        self.known = frozenset(node for node in known if not set(node) & set("+#"))  # those can be no part of a topic
        self._monotonic = monotonic
        self._left, self._at = BURST, monotonic()

    def knows(self, node: str) -> bool:
        return node in self.known

    def may_speak(self, node: str) -> bool:
        if self.knows(node):
            return True
        now = self._monotonic()
        self._left = min(BURST, self._left + (now - self._at) * PER_S)
        self._at = now
        if self._left < 1.0:
            return False
        self._left -= 1.0
        return True
