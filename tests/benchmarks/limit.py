"""The limit that no forecast can pass: the oracle, asked only where the answer is open.

What it says depends on the world alone, so it is kept in a folder named after the world's source text: a changed
daemon is judged without asking it again.
"""

import hashlib
import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import simulated_feeds
from simulated_feeds.oracle import Oracle
from simulated_feeds.story import Story
from tests.benchmarks.scores import CAP_S, LEVELS

PLAYS = 60
EVERY_S = 60.0
FASTEST = 1.05  # a pump's speed varies a little from start to start
KEPT = Path("build/bench-oracle")
RAISED = 1.4  # the most a fault raises a draw by


class Limit:
    """Quantiles of the time to dry with state and habits known and the future open."""

    def __init__(self, story: Story, key: list[Any]) -> None:
        self._file = KEPT / _world_text() / ("-".join(str(part) for part in key) + ".json")
        self._said = json.loads(self._file.read_text("utf-8")) if self._file.exists() else {}
        self._oracle = Oracle(story.scenario, story.seed)
        raised = any(row["what"] == "pump-fast" for row in story.scenario.tables["fault"])
        self._most_l_min = FASTEST * (RAISED if raised else 1.0) * sum(p.rate_l_min for p in story.world.pumps)

    def quantiles(self, at_s: float, usable_l: float, lost_l_min: float) -> list[float]:
        """Infinite from `CAP_S` on. Known at once if it was asked before."""
        said = self._said.get(f"{at_s:.0f}")
        if said is None:
            said = self._said[f"{at_s:.0f}"] = self._ask(at_s, usable_l, lost_l_min)
        return [float(q) for q in said]

    def keep(self) -> None:
        """For the next time."""
        self._file.parent.mkdir(parents=True, exist_ok=True)
        self._file.write_text(json.dumps(self._said), "utf-8")

    def _ask(self, at_s: float, usable_l: float, lost_l_min: float) -> list[float]:
        """Capped at `CAP_S`. If all pumps at once can't empty it by then, nothing needs to be played."""
        if 60.0 * usable_l > CAP_S * (self._most_l_min + lost_l_min):
            return [math.inf] * len(LEVELS)
        times = self._oracle.dry_times_s(at_s, PLAYS, CAP_S)
        return [_quantile(times, level) for level in LEVELS]


@cache
def _world_text() -> str:
    """A short name for the source of world and oracle as they are."""
    files = [Path(__file__), *sorted(Path(simulated_feeds.__file__).parent.glob("*.py"))]
    return hashlib.sha256(b"".join(file.read_bytes() for file in files)).hexdigest()[:12]


def _quantile(ascending: list[float], level: float) -> float:
    place = level * len(ascending) - 0.5
    low = max(math.floor(place), 0)
    high = min(low + 1, len(ascending) - 1)
    a, b = min(ascending[low], CAP_S), min(ascending[high], CAP_S)
    between = a + max(0.0, place - low) * (b - a)
    return math.inf if between >= CAP_S else between
