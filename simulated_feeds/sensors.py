"""What the sensors make of the world: noise, steps, stray echoes and missing samples, each from its own chances."""

from dataclasses import dataclass, field
from random import Random
from typing import Any, NamedTuple, Protocol

from simulated_feeds.surface import Swing
from simulated_feeds.tank import Tank
from simulated_feeds.weather import Weather
from simulated_feeds.world import Segment

Value = dict[str, Any]  # a SenML record without its name


class Instant(NamedTuple):
    at_s: float
    segment: Segment
    swing: Swing


class Sensor(Protocol):
    """One reading of a node. `sample` returns a record without its name, or None where the sample is missing."""

    name: str
    every_s: float
    next_s: float

    def sample(self, now: Instant) -> Value | None: ...

    def reboot(self) -> None: ...


@dataclass
class Ills:
    """What is wrong with a sensor now; faults set and clear these."""

    lost: bool = False
    stuck: bool = False
    trembles: bool = False
    drift_per_h: float = 0.0
    drift_from_s: float = 0.0
    shift: float = 0.0
    echo: float | None = None
    forced: float | None = None
    gain: float = 1.0
    held: float | None = None


@dataclass
class Level:
    """A level sensor. Its errors are in m of water height; `value` turns a height into what it reports."""

    name: str
    tank: Tank
    weather: Weather
    rng: Random
    every_s: float = 0.5
    noise_m: float = 0.002
    step: float = 0.001
    outliers: float = 0.0005
    dropouts: float = 0.001
    offset_m: float = 0.0
    slosh_share: float = 0.6
    unit: str = "m"
    ills: Ills = field(default_factory=Ills)
    next_s: float = 0.0

    def true_m(self, now: Instant) -> float:
        """The height of the water right at the sensor."""
        segment = now.segment
        level = self.tank.height_m(segment.volume_at(now.at_s)) + self.offset_m * segment.slope
        return level + self.slosh_share * now.swing.height_m(now.at_s)

    def sample(self, now: Instant) -> Value | None:
        rng, ills = self.rng, self.ills
        noise_m = rng.gauss(0.0, self.noise_m)
        chance = rng.random()
        if ills.lost or chance < self.dropouts:
            return None
        height = self._seen_m(now, chance > 1 - self.outliers) + noise_m
        return {"u": self.unit, "v": round(round(height / self.step) * self.step, 6)}

    def _seen_m(self, now: Instant, stray: bool) -> float:
        ills = self.ills
        if ills.echo is not None:
            return ills.echo
        if ills.stuck:
            if ills.held is None:
                ills.held = self.true_m(now)
            return ills.held
        height = self.true_m(now) + ills.shift
        if ills.drift_per_h:
            height += ills.drift_per_h * (now.at_s - ills.drift_from_s) / 3600.0
        return height * self.rng.uniform(0.3, 1.3) if stray else height

    def reboot(self) -> None:
        pass


@dataclass
class Meter:
    """A running total in l that starts again from zero with its node."""

    name: str
    rng: Random
    every_s: float = 1.0
    gain: float = 1.0
    step: float = 0.1
    cutoff_l_min: float = 0.8
    ills: Ills = field(default_factory=Ills)
    next_s: float = 0.0
    total_l: float = 0.0
    seen_l: float = 0.0

    def sample(self, now: Instant) -> Value | None:
        segment = now.segment
        passed_l = segment.metered_l + segment.metered_l_min * (now.at_s - segment.start_s) / 60.0
        if segment.metered_l_min >= self.cutoff_l_min and not self.ills.stuck:
            self.total_l += (passed_l - self.seen_l) * self.gain * self.ills.gain
        self.seen_l = passed_l
        if self.ills.lost:
            return None
        return {"u": "l", "v": round(int(self.total_l / self.step) * self.step, 6)}

    def reboot(self) -> None:
        self.total_l = 0.0


@dataclass
class Switch:
    """A true or false. `what` is "motion", or "running"/"drawing" of the pump at `index`."""

    name: str
    what: str
    index: int = 0
    every_s: float = 1.0
    ills: Ills = field(default_factory=Ills)
    next_s: float = 0.0

    def sample(self, now: Instant) -> Value | None:
        if self.ills.lost:
            return None
        segment = now.segment
        if self.what == "motion":
            return {"vb": segment.moving}
        running = segment.engine[self.index]
        return {"vb": running if self.what == "running" else running and segment.trigger[self.index]}

    def reboot(self) -> None:
        pass


@dataclass
class Suction:
    """Gauge pressure at a pump's inlet: the water over it, less what the hose and a blocked strainer cost."""

    name: str
    tank: Tank
    index: int
    rng: Random
    every_s: float = 1.0
    noise_pa: float = 120.0
    ills: Ills = field(default_factory=Ills)
    blocked: float = 0.0
    next_s: float = 0.0

    def sample(self, now: Instant) -> Value | None:
        noise_pa = self.rng.gauss(0.0, self.noise_pa)
        if self.ills.lost:
            return None
        segment = now.segment
        head_pa = 9800.0 * self.tank.height_m(segment.volume_at(now.at_s))
        flow = segment.draw_l_min[self.index]
        pulls = segment.engine[self.index] and segment.trigger[self.index]
        loss_pa = 6000.0 * (flow / 20.0) ** 2
        if pulls and segment.starved:
            head_pa, loss_pa = 0.0, self.rng.uniform(0.0, 3000.0)
        if pulls:
            loss_pa += 45_000.0 * self.blocked
        return {"u": "Pa", "v": float(round((head_pa - loss_pa + noise_pa) / 10.0) * 10)}

    def reboot(self) -> None:
        pass


@dataclass
class Thermometer:
    """Air or water temperature in °C."""

    name: str
    what: str
    weather: Weather
    rng: Random
    every_s: float = 10.0
    noise_c: float = 0.1
    ills: Ills = field(default_factory=Ills)
    next_s: float = 0.0

    def sample(self, now: Instant) -> Value | None:
        noise_c = self.rng.gauss(0.0, self.noise_c)
        if self.ills.lost:
            return None
        true_c = self.weather.air_c(now.at_s) if self.what == "air" else self.weather.water_c(now.at_s)
        return {"u": "Cel", "v": round(true_c + noise_c + self.ills.shift, 1)}

    def reboot(self) -> None:
        pass
