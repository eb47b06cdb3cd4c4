"""Where the trailer stands: how the ground slopes there, whether the hose is on the tap, and the road in between."""

from random import Random
from typing import Literal

from simulated_feeds.supply import Tap

PhaseName = Literal["setup", "work", "break", "wait", "pack", "tow", "done"]


class Place:
    """`slope` is how much the trailer's nose stands up, in m per m; a sensor ahead of the middle then reads low."""

    def __init__(self, tap: Tap, rng: Random, steepness: float = 0.01) -> None:
        self.tap = tap
        self.moving = False
        self.moves = 0
        self.flips = False
        self._rng = rng
        self._steepness = steepness
        self.slope = rng.gauss(0.0, steepness)

    def phase_begins(self, phase: PhaseName) -> None:
        """Packing takes the hose off, the road ends at another place, setting up puts the hose on."""
        if phase == "pack":
            self.tap.connected = False
        elif phase == "tow":
            self.tap.connected = False
            self.moving = True
        elif phase == "setup":
            if self.moving:
                self._arrive()
            self.tap.connected = False
        elif phase in ("work", "break"):
            self.tap.connected = True

    def _arrive(self) -> None:
        self.moving = False
        self.moves += 1
        other = self._rng.gauss(0.0, self._steepness)
        self.slope = other if not self.flips else -self.slope if abs(self.slope) > 0.01 else 0.02
        self.tap.new_site()
