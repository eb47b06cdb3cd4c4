"""The level signal, second by second: its typical height, its noise, and whether it repeats itself to the digit."""

import math
from statistics import median
from typing import NamedTuple

START_NOISE_M = 0.006
LEAST_NOISE_M = 0.0007
MOST_NOISE_M = 0.030
LEARN_S = 120.0
ODDS = 1e-9  # a run of equal values as unlikely as this is no chance
LEAST_RUN_S = 12.0
TYPICAL_OF = 5  # readings at least: two false echoes among them shift nothing
TYPICAL_S = 5.0
REPEATS_KNOWN = 60  # readings before the usual share of repeats is trusted


class Seen(NamedTuple):
    """The level of one second: its height (m), the median of so many readings."""

    height_m: float
    readings: int


class LevelSense:
    """Gathers the readings between two ticks. One instance a level sensor."""

    def __init__(self) -> None:
        self._gathered: list[float] = []
        self.last_m: float | None = None
        self.recent: list[tuple[float, float]] = []
        self.run = 0
        self.run_since_s = 0.0
        self.repeats, self.compared = 1.0, 2.0

    def take(self, at: float, height_m: float) -> None:
        if height_m == self.last_m:
            self.run += 1
        else:
            self._note_run()
            self.run, self.run_since_s = 1, at
        self.last_m = height_m
        self._gathered.append(height_m)
        self.recent.append((at, height_m))
        if len(self.recent) > 128:
            del self.recent[:64]

    def _note_run(self) -> None:
        """A run of equal values ended; short ones teach how often this sensor repeats itself anyway."""
        if self.run:
            self.repeats = 0.999 * self.repeats + self.run - 1
            self.compared = 0.999 * self.compared + self.run

    def second(self) -> Seen | None:
        """The median of what came since the last call, or None when nothing did."""
        if not self._gathered:
            return None
        seen = Seen(median(self._gathered), len(self._gathered))
        self._gathered.clear()
        return seen

    def repeats_oddly(self, at: float) -> bool:
        """True when the same digits came so long that chance is ruled out by this sensor's own record."""
        if self.compared < REPEATS_KNOWN or at - self.run_since_s < LEAST_RUN_S:
            return False
        usual = min(0.995, self.repeats / self.compared)
        return self.run * math.log(usual) < math.log(ODDS)

    def run_s(self, at: float) -> float:
        """For how long it has shown the same digits."""
        return 0.0 if self.last_m is None else at - self.run_since_s

    def save(self, at: float) -> dict[str, float]:
        """The digits it shows and for how long, and how often it repeats itself anyway; nothing before a reading."""
        if self.last_m is None:
            return {}
        return {
            "last_m": self.last_m, "run": self.run, "run_s": self.run_s(at), "repeats": self.repeats,
            "compared": self.compared,
        }  # fmt: skip

    def restore(self, at: float, saved: dict[str, float]) -> None:
        self.last_m, self.run, self.run_since_s = saved["last_m"], int(saved["run"]), at - saved["run_s"]
        self.repeats, self.compared = saved["repeats"], saved["compared"]

    def latest(self, at: float, within_s: float) -> float | None:
        """The last raw height, if it is recent."""
        return self.recent[-1][1] if self.recent and at - self.recent[-1][0] <= within_s else None

    def typical(self, at: float, within_s: float) -> float | None:
        """Median of the last few raw heights, if they are recent: the independent path's own view, no filter in it."""
        last = []
        for when, height in reversed(self.recent):  # in order of time, so the first too old is the last to look at
            if at - when > TYPICAL_S:
                break
            last.append(height)
        if len(last) < TYPICAL_OF:
            last = [height for when, height in self.recent[-TYPICAL_OF:] if at - when <= within_s]
        return median(last) if len(last) >= TYPICAL_OF else None


class LevelNoise:
    """The level's noise about what the balance foretells, as a height; learned from the surprises."""

    def __init__(self) -> None:
        self.var_m2 = START_NOISE_M**2
        self.seen = 0

    def learn(self, surprise_m: float, foretold_var_m2: float) -> None:
        """`foretold_var_m2`: the part of the surprise's variance that is not noise."""
        self.seen += 1
        weight = max(1.0 / LEARN_S, 1.0 / (self.seen + 10.0))
        capped = min(surprise_m * surprise_m, 9.0 * (self.var_m2 + foretold_var_m2))
        now = min(max(capped - foretold_var_m2, LEAST_NOISE_M**2), MOST_NOISE_M**2)
        self.var_m2 += weight * (now - self.var_m2)
