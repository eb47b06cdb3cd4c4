"""The meter at the inlet: a running total, pulses or a rate."""

from dataclasses import dataclass
from typing import Literal

from simulated_feeds.sensor import Instant, Sensor, Value, stepped

Counts = Literal["total", "pulses", "rate"]


@dataclass
class Meter(Sensor):
    """A flow meter whose register starts from zero with its node. Flow under `cutoff_l_min` doesn't move it."""

    counts: Counts = "total"
    unit: str = "l"
    gain: float = 1.0
    cutoff_l_min: float = 0.8
    step_l: float = 0.1
    per_l: float = 10.0
    """Pulses a litre, where it counts pulses."""
    starts_l: float = 0.0
    rolls_over_at: int = 2**32
    """The count of pulses after which the register begins again from zero."""
    total_l: float = 0.0
    _seen_l: float = 0.0
    _rate_l_min: float = 0.0
    _flowed_l_min: float = 0.0

    def __post_init__(self) -> None:
        self.total_l = self.starts_l

    def value(self, now: Instant) -> Value:
        self._count(now)
        if self.counts == "pulses":
            return {"u": "count", "v": int(self.total_l * self.per_l) % self.rolls_over_at}
        if self.counts == "total":
            shown_l = int(self.total_l / self.step_l + 1e-9) * self.step_l
            return {"u": self.unit, "v": round(shown_l / (1000.0 if self.unit == "m3" else 1.0), 6)}
        divide = {"l/min": 1.0, "l/s": 60.0, "m3/s": 60_000.0}[self.unit]
        return {"u": self.unit, "v": round(stepped(self._rate_l_min, 0.05) / divide, 9)}

    def _count(self, now: Instant) -> None:
        segment = now.segment
        passed_l = segment.metered_l + segment.metered_l_min * (now.at_s - segment.start_s) / 60.0
        flowed_l_min = max(segment.metered_l_min, self._flowed_l_min)  # what ran before a tap was shut went through too
        moves = flowed_l_min >= self.cutoff_l_min
        self._flowed_l_min = segment.metered_l_min
        gain = self.gain * self.ills.gain
        if not self.ills.stuck:
            self.total_l += (passed_l - self._seen_l) * gain if moves else 0.0
            noise = self.rng.gauss(1.0, 0.01) if self.counts == "rate" else 1.0
            self._rate_l_min = segment.metered_l_min * gain * noise if moves else 0.0
        self._seen_l = passed_l

    def jump(self, by_l: float) -> None:
        """The register leaps ahead: a fault of its electronics, no water."""
        self.total_l += by_l

    def reboot(self) -> None:
        self.total_l = 0.0
