"""What feeds the tank: a tap behind a hose, other users on the same main, and a float valve in the tank."""

from math import inf, sqrt
from random import Random
from typing import NamedTuple


class FloatValve(NamedTuple):
    """Heights between which the float closes the valve, in m."""

    starts_closing_m: float
    shut_m: float

    def opening(self, height_m: float) -> float:
        """1 fully open, 0 shut."""
        left = (self.shut_m - height_m) / (self.shut_m - self.starts_closing_m)
        return 1.0 if left > 1.0 else max(left, 0.0)


class Tap:
    """Flow through a fixed resistance under a pressure that wanders, and falls while others draw.

    Every change comes at `next_at`; in between the pressure stands still.
    """

    def __init__(
        self, flow_l_min: float, rng: Random, wander: float = 0.03, others_every_s: float = 0.0,
        others_take: float = 0.25, float_valve: FloatValve | None = None,
    ) -> None:
        self.flow_l_min = flow_l_min
        self.float_valve = float_valve
        self.open = True
        self.connected = True
        self.kink = 1.0  # share of the free flow that a kinked hose lets through
        self.site = 1.0  # this place's pressure against the nominal
        self.next_at = 0.0
        self._rng = rng
        self._wander = wander
        self._drift = 0.0
        self._others_every_s = others_every_s
        self._others_take = others_take
        self._others_until = 0.0
        self._others_from = rng.expovariate(1 / others_every_s) if others_every_s else inf
        self._pressure = 1.0

    def act(self, at_s: float) -> None:
        """Let the pressure move on: it drifts back to its mean, and a neighbour opens or shuts a tap."""
        rng = self._rng
        self._drift += -self._drift * 0.05 + rng.gauss(0.0, self._wander * 0.3162)
        if at_s >= self._others_from:
            self._others_until = at_s + rng.uniform(20, 400)
            self._others_from = self._others_until + rng.expovariate(1 / self._others_every_s)
        taken = self._others_take if at_s < self._others_until else 0.0
        self._pressure = max(1.0 + 2 * self._drift - taken, 0.05)
        self.next_at = at_s + 20.0

    def new_site(self) -> None:
        self.site = self._rng.uniform(0.75, 1.25)

    def inflow_l_min(self, height_m: float) -> float:
        """What runs into the tank now: pressure over the resistances of hose and half-shut valve in a row."""
        if not (self.open and self.connected):
            return 0.0
        opening = self.float_valve.opening(height_m) if self.float_valve else 1.0
        if opening <= 0.0 or self.kink <= 0.0:
            return 0.0
        resistance = 0.7 / self.kink**2 + 0.3 / opening**2
        return self.flow_l_min * self.site * sqrt(self._pressure / resistance)
