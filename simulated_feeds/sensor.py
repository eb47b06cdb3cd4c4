"""What all sensors have in common: a pace, missing samples, and what may be wrong with them."""

from dataclasses import dataclass, field
from random import Random
from typing import Any, NamedTuple

from simulated_feeds.surface import Swing
from simulated_feeds.world import Segment

Value = dict[str, Any]  # a SenML record without its name


class Instant(NamedTuple):
    """The world at a time, as far as a sensor can reach it."""

    at_s: float
    segment: Segment
    swing: Swing


@dataclass
class Ills:
    """What is wrong with a sensor now, set by faults. Shift and drift are in the unit of what is measured."""

    lost: bool = False
    stuck: bool = False
    trembles: bool = False
    shift: float = 0.0
    drift_per_h: float = 0.0
    drifts_from_s: float = 0.0
    echo_m: float | None = None
    out_of_range: bool = False
    gain: float = 1.0

    def error(self, at_s: float) -> float:
        """How far off a shift and a drift have brought it."""
        return self.shift + self.drift_per_h * (at_s - self.drifts_from_s) / 3600.0 if self.drift_per_h else self.shift


@dataclass
class Sensor:
    """One reading of a node, called `name` there. `role` says what it is for: "level", "supply", "running", …"""

    name: str
    role: str
    rng: Random
    every_s: float = 1.0
    dropouts: float = 0.0
    """Share of samples that go missing."""
    pump: int | None = None
    ills: Ills = field(default_factory=Ills)
    next_s: float = 0.0

    def sample(self, now: Instant) -> Value | None:
        """A SenML record without its name, or None where the sample is missing."""
        missing = self.ills.lost or (self.dropouts > 0.0 and self.rng.random() < self.dropouts)
        value = self.value(now)
        return None if missing else value

    def value(self, now: Instant) -> Value:
        raise NotImplementedError

    def reboot(self) -> None:
        """Its node starts again."""


def stepped(value: float, step: float) -> float:
    """The value as an instrument of that resolution shows it."""
    return round(round(value / step) * step, 9) if step else value
