"""Hours: how long each engine has run and each pump has drawn since this rig was first watched; no restart loses them.

An engine without a signal counts as running while its pump more likely draws than not: what it idles is missed.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from monitor.balance.pumps import PumpWatch
from monitor.rig.days import Day, Days

LIKELY = 0.5
DAYS_KEPT = 3


class Hours:
    """In s, by pump."""

    def __init__(self, timezone: str | None = None) -> None:
        self.calendar = Days(timezone)
        self.today: Day | None = None
        self.ran_s: dict[str, float] = {}
        self.drew_s: dict[str, float] = {}
        self.days: dict[str, dict[str, float]] = {}
        """`ran_s` as it was when each of the last days began: a clock that is set may go back to one that it left."""

    def tick(self, wall: float, dt_s: float, pumps: Sequence[PumpWatch], drawing: Sequence[float]) -> None:
        """`wall` is wall time, Unix seconds; `drawing` how likely each pump draws."""
        if self.today is None or not self.today.began <= wall < self.today.ends:
            self._begin_day(wall)
        for pump, likely in zip(pumps, drawing, strict=True):
            draws = likely > LIKELY if pump.drawing is None else pump.drawing
            runs = draws if pump.running is None else pump.running
            self.ran_s[pump.name] = self.ran_s.get(pump.name, 0.0) + dt_s * runs
            self.drew_s[pump.name] = self.drew_s.get(pump.name, 0.0) + dt_s * draws

    def _begin_day(self, wall: float) -> None:
        self.today = self.calendar.of(wall)
        self.days[self.today.date] = self.days.pop(self.today.date, dict(self.ran_s))
        for date in list(self.days)[:-DAYS_KEPT]:
            del self.days[date]

    def today_s(self, pump: str) -> float:
        """How long the engine has run today."""
        began_s = {} if self.today is None else self.days[self.today.date]
        return self.ran_s.get(pump, 0.0) - began_s.get(pump, 0.0)

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
        return {"ran_s": self.ran_s, "drew_s": self.drew_s, "days": self.days}

    def restore(self, saved: Mapping[str, Any]) -> None:
        self.ran_s, self.drew_s = dict(saved.get("ran_s", {})), dict(saved.get("drew_s", {}))
        self.days = {day: dict(began_s) for day, began_s in saved.get("days", {}).items()}
