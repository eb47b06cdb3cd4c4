"""The swinging surface: one lightly damped wave between the tank's end walls, kicked by triggers and by the road."""

from math import cos, exp, sin
from random import Random
from typing import NamedTuple

from simulated_feeds.tank import Tank
from simulated_feeds.world import Segment


class Swing(NamedTuple):
    """The wave from `start_s` on: its two quadrature parts in m, its angular frequency and its decay in 1/s."""

    start_s: float
    across_m: float
    along_m: float
    rad_s: float
    decay_per_s: float

    def height_m(self, at_s: float) -> float:
        passed = at_s - self.start_s
        size = exp(-self.decay_per_s * passed)
        angle = self.rad_s * passed
        return size * (self.across_m * cos(angle) + self.along_m * sin(angle))


class Surface:
    """Follows the world's segments; each change of trigger kicks the wave a little, each bump of the road more."""

    def __init__(self, tank: Tank, rng: Random, damping: float = 0.02, trigger_m: float = 0.0015,
                 road_m: float = 0.012) -> None:
        self._tank = tank
        self._rng = rng
        self._damping = damping
        self._trigger_m = trigger_m
        self._road_m = road_m
        self._last: Segment | None = None
        self.swing = Swing(0.0, 0.0, 0.0, 4.0, 0.08)

    def follow(self, segment: Segment) -> Swing:
        """The wave within the next segment."""
        last, swing = self._last, self.swing
        rad_s = self._tank.slosh_rad_s(self._tank.height_m(segment.volume_l))
        passed = segment.start_s - swing.start_s
        size, angle = exp(-swing.decay_per_s * passed), swing.rad_s * passed
        across = size * (swing.across_m * cos(angle) + swing.along_m * sin(angle))
        along = size * (swing.along_m * cos(angle) - swing.across_m * sin(angle))
        kick = self._kick_m(last, segment)
        if kick:
            across += self._rng.gauss(0.0, kick)
            along += self._rng.gauss(0.0, kick)
        self._last = segment
        self.swing = Swing(segment.start_s, across, along, rad_s, self._damping * rad_s)
        return self.swing

    def _kick_m(self, last: Segment | None, segment: Segment) -> float:
        if segment.moving:
            return self._road_m
        if last is not None and last.moving:
            return self._road_m
        return self._trigger_m if last is not None and last.trigger != segment.trigger else 0.0
