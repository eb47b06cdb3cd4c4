"""What is so, at any time of a story: the past as it was, the future played out by a copy of the world."""

from math import inf
from typing import NamedTuple

from simulated_feeds.world import World, next_dry_s

_STRIDE_S = 300.0


class Truth(NamedTuple):
    """`dry_at` is the Unix time at which the volume next reaches the heel, inf where not within the look-ahead."""

    at: float
    volume_l: float
    height_m: float
    inflow_l_min: float
    draw_l_min: dict[str, float]
    engine: dict[str, bool]
    trigger: dict[str, bool]
    lost_l_min: float
    """What leaks and what runs over."""
    moving: bool
    slope: float
    phase: str
    """What the crew is at: setup, work, break, wait, pack, tow, done."""
    dry_at: float

    @property
    def net_l_min(self) -> float:
        """How fast the volume changes, filling positive."""
        return self.inflow_l_min - sum(self.draw_l_min.values()) - self.lost_l_min


class Truths:
    """Answers for the world as it has been, and for a fork of it run ahead as far as is asked."""

    def __init__(self, world: World, start_at: float) -> None:
        self._world = world
        self._start_at = start_at
        self._ahead: World | None = None

    def forget_future(self) -> None:
        """A hand was put in: what had been seen ahead no longer holds."""
        self._ahead = None

    def at(self, at: float, look_ahead_s: float) -> Truth:
        at_s = at - self._start_at
        world = self._world if at_s < self._world.at_s else self._future(at_s)
        segment = world.at(at_s)
        volume_l = segment.volume_at(at_s)
        names = [pump.name for pump in world.pumps]
        return Truth(
            at,
            volume_l,
            world.tank.height_m(volume_l),
            segment.inflow_l_min,
            dict(zip(names, segment.draw_l_min, strict=True)),
            dict(zip(names, segment.engine, strict=True)),
            dict(zip(names, segment.trigger, strict=True)),
            segment.lost_l_min,
            segment.moving,
            segment.slope,
            segment.phase,
            self._start_at + self._dry_s(at_s, look_ahead_s),
        )

    def _dry_s(self, at_s: float, look_ahead_s: float) -> float:
        seen_s = self._world.segments[-1].start_s if self._world.segments else 0.0
        if at_s < self._world.at_s:
            dry_s = next_dry_s(self._world, at_s)
            if dry_s < inf:
                return dry_s
        from_s, until_s = max(at_s, seen_s), at_s + look_ahead_s
        looks_s = from_s
        while (dry_s := next_dry_s(self._future(looks_s), from_s)) == inf and looks_s < until_s:
            looks_s = min(looks_s + _STRIDE_S, until_s)
        return dry_s if dry_s <= until_s else inf

    def _future(self, at_s: float) -> World:
        if self._ahead is None:
            self._ahead = self._world.fork()
        self._ahead.run_to(at_s)
        return self._ahead
