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


class Main(NamedTuple):
    """The main behind the tap.

    `wander` is the usual drift of the flow as a share, `others_take` the share of the pressure that neighbours take,
    `sites_differ` how much the next place's flow may differ; times in s, 0 for never.
    """

    flow_l_min: float
    wander: float = 0.03
    others_every_s: float = 0.0
    others_take: float = 0.25
    kinks_every_s: float = 0.0
    sites_differ: float = 0.25


class _Spell:
    """Something that comes now and then, without memory, and lasts between two times."""

    def __init__(self, rng: Random, every_s: float, lasts_s: tuple[float, float]) -> None:
        self._rng = rng
        self._every_s = every_s
        self._lasts_s = lasts_s
        self._until_s = 0.0
        self._from_s = rng.expovariate(1 / every_s) if every_s else inf

    def forget(self, at_s: float) -> None:
        """When it next comes or goes is open again."""
        rng = self._rng
        if at_s < self._until_s:
            self._until_s = at_s + rng.uniform(0.0, self._lasts_s[1])
        if self._every_s:
            self._from_s = max(at_s, self._until_s) + rng.expovariate(1 / self._every_s)

    def on(self, at_s: float) -> bool:
        if at_s >= self._from_s:
            self._until_s = at_s + self._rng.uniform(*self._lasts_s)
            self._from_s = self._until_s + self._rng.expovariate(1 / self._every_s)
        return at_s < self._until_s


class Tap:
    """Flow through a fixed resistance under a pressure that wanders, and falls while others draw.

    Every change comes at `next_at`; in between the pressure stands still.
    """

    def __init__(self, main: "Main", rng: Random, float_valve: FloatValve | None = None) -> None:
        self.main = main
        self.float_valve = float_valve
        self.float_stuck = False
        self.open = True
        self.connected = True
        self.kink = 1.0  # share of the free flow that a kinked hose lets through
        self.site = 1.0  # this place's flow against the nominal
        self.next_at = 0.0
        self._rng = rng
        self._drift = 0.0
        self._others = _Spell(rng, main.others_every_s, (20.0, 400.0))
        self._kinks = _Spell(rng, main.kinks_every_s, (30.0, 300.0))
        self._kinked_to = 1.0
        self._pressure = 1.0

    def act(self, at_s: float) -> None:
        """Let the pressure move on: it drifts back to its mean, a neighbour opens a tap, somebody parks on the hose."""
        main, rng = self.main, self._rng
        self._drift += -self._drift * 0.05 + rng.gauss(0.0, main.wander * 0.3162)
        taken = main.others_take if self._others.on(at_s) else 0.0
        was_kinked, kinked = self._kinked_to < 1.0, self._kinks.on(at_s)
        if kinked != was_kinked:
            self._kinked_to = rng.uniform(0.15, 0.7) if kinked else 1.0
        self._pressure = max(1.0 + 2 * self._drift - taken, 0.05)
        self.next_at = at_s + 20.0

    def forget(self, at_s: float) -> None:
        """What the main will do is open again."""
        self._others.forget(at_s)
        self._kinks.forget(at_s)

    def new_site(self) -> None:
        self.site = self._rng.uniform(1.0 - self.main.sites_differ, 1.0 + self.main.sites_differ)

    def inflow_l_min(self, height_m: float) -> float:
        """What runs into the tank now: pressure over the resistances of hose and half-shut valve in a row."""
        if not (self.open and self.connected):
            return 0.0
        opening = self.float_valve.opening(height_m) if self.float_valve and not self.float_stuck else 1.0
        clear = self.kink * self._kinked_to
        if opening <= 0.0 or clear <= 0.0:
            return 0.0
        resistance = 0.7 / clear**2 + 0.3 / opening**2
        return self.main.flow_l_min * self.site * sqrt(self._pressure / resistance)
