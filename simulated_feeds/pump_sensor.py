"""Sensors at a pump, and on the trailer: running, drawing, suction, motion, slope, temperatures, barometer."""

from collections.abc import Callable
from dataclasses import dataclass, field

from simulated_feeds.sensor import Instant, Sensor, Value, stepped
from simulated_feeds.tank import Tank


@dataclass
class Says(Sensor):
    """A yes or no of the world; a contact that sticks goes on saying what it said."""

    on: Callable[[Instant], bool] = field(kw_only=True)
    _said: bool = False

    def says(self, now: Instant) -> bool:
        if not self.ills.stuck:
            self._said = self.on(now)
        return self._said


@dataclass
class Switch(Says):
    """Said as true or false."""

    def value(self, now: Instant) -> Value:
        return {"vb": self.says(now)}


@dataclass
class Threshold(Says):
    """Said as an amount that stands well over or well under the threshold of the rig file."""

    above: float = field(kw_only=True)
    unit: str = field(kw_only=True)

    def value(self, now: Instant) -> Value:
        high = 1.8 if self.says(now) else 0.2
        return {"u": self.unit, "v": round(self.above * high * self.rng.gauss(1.0, 0.03), 4)}


def running(pump: int) -> Callable[[Instant], bool]:
    """Its engine turns."""
    return lambda now: now.segment.engine[pump]


def drawing(pump: int) -> Callable[[Instant], bool]:
    """Its unloader stands open to the gun: engine on and trigger pulled, whatever then comes through."""
    return lambda now: now.segment.engine[pump] and now.segment.trigger[pump]


def moving(now: Instant) -> bool:
    """The trailer is on the road."""
    return now.segment.moving


@dataclass
class Suction(Sensor):
    """Gauge pressure at a pump's inlet, in Pa: the water over it, less what hose, strainer and air cost."""

    tank: Tank = field(kw_only=True)
    at: int = field(kw_only=True)
    noise_pa: float = 120.0
    hose_pa: float = 6000.0
    """Lost in the suction hose at 20 l/min."""

    def value(self, now: Instant) -> Value:
        return {"u": "Pa", "v": stepped(self._true_pa(now) + self.rng.gauss(0.0, self.noise_pa), 10.0)}

    def _true_pa(self, now: Instant) -> float:
        segment, at = now.segment, self.at
        head_pa = 9800.0 * self.tank.height_m(segment.volume_at(now.at_s))
        if not (segment.engine[at] and segment.trigger[at]):
            return head_pa
        if segment.starved:
            return self.rng.uniform(-4000.0, 500.0)
        loss_pa = self.hose_pa * (segment.draw_l_min[at] / 20.0) ** 2
        return head_pa - loss_pa - 55_000.0 * (1.0 - segment.suction[at])


@dataclass
class Slope(Sensor):
    """The slope of the ground along the trailer, as an angle in rad, nose up positive."""

    noise_rad: float = 0.0008

    def value(self, now: Instant) -> Value:
        seen = now.segment.slope + self.ills.error(now.at_s) + self.rng.gauss(0.0, self.noise_rad)
        return {"u": "rad", "v": round(seen, 4)}


@dataclass
class Ambient(Sensor):
    """A temperature or the barometer: an amount of the weather."""

    of: Callable[[float], float] = field(kw_only=True)
    unit: str = "Cel"
    noise: float = 0.1
    step: float = 0.1

    def value(self, now: Instant) -> Value:
        seen = self.of(now.at_s) + self.ills.error(now.at_s) + self.rng.gauss(0.0, self.noise)
        return {"u": self.unit, "v": stepped(seen, self.step)}
