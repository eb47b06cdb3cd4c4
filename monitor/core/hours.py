"""Hours: how long each engine has run and each pump has drawn since this rig was first watched; no restart loses them.

An engine without a signal counts as running while its pump more likely draws than not: what it idles is missed.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from monitor.balance.pumps import PumpWatch

LIKELY = 0.5


class Hours:
    """In s, by pump."""

    def __init__(self) -> None:
        self.ran_s: dict[str, float] = {}
        self.drew_s: dict[str, float] = {}

    def tick(self, dt_s: float, pumps: Sequence[PumpWatch], drawing: Sequence[float]) -> None:
        """`drawing`: how likely each pump draws."""
        for pump, likely in zip(pumps, drawing, strict=True):
            draws = likely > LIKELY if pump.drawing is None else pump.drawing
            runs = draws if pump.running is None else pump.running
            self.ran_s[pump.name] = self.ran_s.get(pump.name, 0.0) + dt_s * runs
            self.drew_s[pump.name] = self.drew_s.get(pump.name, 0.0) + dt_s * draws

    def standing(self, pumps: Sequence[PumpWatch]) -> list[dict[str, Any]]:
        """Hours of each pump of the rig file, in its order."""
        return [
            {
                "pump": pump.name,
                "ran_h": round(self.ran_s.get(pump.name, 0.0) / 3600.0, 2),
                "drew_h": round(self.drew_s.get(pump.name, 0.0) / 3600.0, 2),
                "signal": pump.running is not None,
            }
            for pump in pumps
        ]

    def save(self) -> dict[str, Any]:
        return {"ran_s": self.ran_s, "drew_s": self.drew_s}

    def restore(self, saved: Mapping[str, Any]) -> None:
        self.ran_s, self.drew_s = dict(saved.get("ran_s", {})), dict(saved.get("drew_s", {}))
