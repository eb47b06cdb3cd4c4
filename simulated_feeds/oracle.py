"""What one could say at best: the time to dry with the true state and the true habits known, and the future not.

Forecasts are judged against this limit. It plays the world on from where it stands again and again, each time with
the rest of every burst, pause and phase drawn anew, and with no fault to come foreseen.
"""

from math import inf
from random import Random

from simulated_feeds.build_world import build_world
from simulated_feeds.scenario import Scenario
from simulated_feeds.world import World, next_dry_s

_STRIDE_S = 120.0


class Oracle:
    """Asked at rising times of one story; it knows nothing of hands put in."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self._seed = seed
        self._world = build_world(scenario, seed)

    def dry_times_s(self, at_s: float, plays: int = 100, cap_s: float = 900.0) -> list[float]:
        """Times in s from `at_s` (s of the story) to the heel in so many futures, rising; inf where over `cap_s`."""
        self._world.run_to(at_s)
        now = self._world.fork()
        now.interrupt(at_s)
        return sorted(_play(now, at_s, Random(f"oracle/{self._seed}/{at_s}/{i}"), cap_s) for i in range(plays))


def _play(now: World, at_s: float, rng: Random, cap_s: float) -> float:
    world = now.fork(rng)
    world.forget()
    reached_s = at_s
    while reached_s < at_s + cap_s:
        reached_s = min(reached_s + _STRIDE_S, at_s + cap_s)
        world.run_to(reached_s)
        dry_s = next_dry_s(world, at_s)
        if dry_s <= at_s + cap_s:
            return dry_s - at_s
    return inf
