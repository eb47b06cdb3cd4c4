"""A pump's draw over the season: its mean rate on each day it was well known, and what the change suggests."""

from collections.abc import Mapping, Sequence
from typing import Any

from monitor.balance.filter import Belief
from monitor.balance.pumps import PumpWatch
from monitor.planning.upkeep import season

DAY_S = 86_400.0
MOST_DAYS = 200
LEAST_S = 300.0  # a day on which a pump drew less tells nothing of it
WELL_KNOWN = 0.04  # the rate's standard deviation as a share of it
SURELY = 0.9


class Season:
    """By pump, a row for each day (UTC): the day, seconds drawn, mean rate in l/min; the oldest first."""

    def __init__(self) -> None:
        self.days: dict[str, list[list[float]]] = {}

    def tick(
        self, wall: float, dt_s: float, pumps: Sequence[PumpWatch], belief: Belief, soaps: Mapping[str, bool]
    ) -> None:
        """`soaps`: pumps whose flow may be restricted: they tell nothing of the pump."""
        each = zip(pumps, belief.rates_l_min, belief.rates_sd_l_min, belief.drawing, strict=True)
        for pump, rate, sd, draws in each:
            if draws > SURELY and sd < WELL_KNOWN * rate and not soaps.get(pump.name):
                self._note(pump.name, wall // DAY_S, dt_s, rate)

    def _note(self, pump: str, day: float, dt_s: float, rate: float) -> None:
        days = self.days.setdefault(pump, [])
        if not days or days[-1][0] != day:
            days.append([day, 0.0, rate])
            del days[:-MOST_DAYS]
        days[-1][1] += dt_s
        days[-1][2] += dt_s / days[-1][1] * (rate - days[-1][2])

    def standing(self, pumps: Sequence[PumpWatch]) -> list[dict[str, Any]]:
        """For each pump of the rig file, the days it was seen on and the verdict on them."""
        return [self._one(pump.name) for pump in pumps]

    def _one(self, pump: str) -> dict[str, Any]:
        days = [[day * DAY_S, round(rate, 3)] for day, seen_s, rate in self.days.get(pump, []) if seen_s >= LEAST_S]
        verdict = season([rate for _, rate in days])
        return {
            "pump": pump, "days": days, "verdict": verdict.verdict, "change": round(verdict.change, 4),
            "look_at": list(verdict.look_at),
        }  # fmt: skip

    def save(self) -> dict[str, Any]:
        return {pump: [[day, round(s), round(rate, 4)] for day, s, rate in days] for pump, days in self.days.items()}

    def restore(self, saved: Mapping[str, Any]) -> None:
        self.days = {pump: [list(day) for day in days] for pump, days in saved.items()}
