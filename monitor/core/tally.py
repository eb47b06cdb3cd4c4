"""The water counted second by second, a row each quarter of an hour: what the books are made of.

The rows outlast raw readings and forecasts, so that last year's book can still be printed. A row that was open when the
daemon was stopped is given out when it next watches, with the time at which it really ended.
"""

from collections.abc import Mapping
from typing import Any

from monitor.changes import Change
from monitor.changes import Tally as Row

EVERY_S = 900.0
LATE_S = 2.0


class Tally:
    """What was counted since the last row."""

    def __init__(self) -> None:
        self.open: dict[str, Any] | None = None
        """Saved with the state: a restart goes on with the same row."""

    def tick(
        self, wall: float, dt_s: float, in_l: float, drawn_l: Mapping[str, float], chemical_l: Mapping[str, float]
    ) -> None:
        """A second passed with so much water in and, by pump, water and chemical out. `wall`: its end."""
        if self.open is None:
            self.open = {"began": wall - dt_s, "watched_s": 0.0, "in_l": 0.0, "pumps_l": {}, "chemical_l": {}}
        self.open["watched_s"] += dt_s
        self.open["in_l"] += in_l
        self.open["ended"] = wall
        for key, by_pump in (("pumps_l", drawn_l), ("chemical_l", chemical_l)):
            _add(self.open[key], by_pump)

    def due(self, at: float, wall: float) -> list[Change]:
        """The row, once its quarter of an hour is over or the wall clock was set; asked before the second is counted.

        `wall` is the end of the second that is about to be counted.
        """
        if self.open is None or _quarter(self.open["began"]) == _quarter(wall - LATE_S / 2):
            return []
        said, self.open = self.open, None
        pumps_l = _rounded(said["pumps_l"])
        figures = {
            "watched_s": round(said["watched_s"], 1), "in_l": round(said["in_l"], 3),
            "used_l": round(sum(pumps_l.values()), 3), "pumps_l": pumps_l,
            "chemical_l": _rounded(said["chemical_l"]),
        }  # fmt: skip
        if abs(wall - said["ended"]) > LATE_S:
            figures["ended"] = round(said["ended"], 3)
        return [Row(at, round(said["began"], 3), figures)]


def _quarter(wall: float) -> int:
    return int(wall // EVERY_S)


def _add(sums: dict[str, float], more: Mapping[str, float]) -> None:
    for name, litres in more.items():
        sums[name] = sums.get(name, 0.0) + litres


def _rounded(by_pump: Mapping[str, float]) -> dict[str, float]:
    return {name: round(litres, 3) for name, litres in by_pump.items() if litres >= 0.0005}
