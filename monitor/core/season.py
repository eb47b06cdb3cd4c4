"""A pump over the season: its mean draw on each day, its pressure where that is measured, what a change suggests."""

from collections.abc import Mapping, Sequence
from typing import Any

from monitor.balance.filter import Belief
from monitor.balance.pumps import PumpWatch
from monitor.planning.upkeep import nozzle_worn, season

DAY_S = 86_400.0
MOST_DAYS = 200
LEAST_S = 300.0  # a day on which a pump drew less tells nothing of it
WELL_KNOWN = 0.04  # the rate's standard deviation as a share of it
SURELY = 0.9


class Days:
    """By pump, a row for each day (UTC): the day, seconds seen, the mean; the oldest first."""

    def __init__(self) -> None:
        self.of: dict[str, list[list[float]]] = {}

    def note(self, pump: str, day: float, dt_s: float, value: float) -> None:
        days = self.of.setdefault(pump, [])
        if not days or days[-1][0] != day:
            days.append([day, 0.0, value])
            del days[:-MOST_DAYS]
        days[-1][1] += dt_s
        days[-1][2] += dt_s / days[-1][1] * (value - days[-1][2])

    def seen(self, pump: str) -> list[list[float]]:
        """The days on which there was enough to go by: when, and the mean."""
        return [[day * DAY_S, round(mean, 3)] for day, seen_s, mean in self.of.get(pump, []) if seen_s >= LEAST_S]

    def save(self) -> dict[str, Any]:
        return {pump: [[day, round(s), round(mean, 4)] for day, s, mean in days] for pump, days in self.of.items()}

    def restore(self, saved: Mapping[str, Any]) -> None:
        self.of = {pump: [list(day) for day in days] for pump, days in saved.items()}


class Season:
    """Draws in l/min and pressures in Pa."""

    def __init__(self) -> None:
        self.draws, self.pressures = Days(), Days()

    def tick(
        self, wall: float, dt_s: float, pumps: Sequence[PumpWatch], belief: Belief, soaps: Mapping[str, bool],
        pressures_pa: Mapping[str, float],
    ) -> None:  # fmt: skip
        """`soaps`: pumps whose flow may be restricted, and pressure low: they tell nothing of the pump."""
        each = zip(pumps, belief.rates_l_min, belief.rates_sd_l_min, belief.drawing, strict=True)
        for pump, rate, sd, draws in each:
            if draws <= SURELY or soaps.get(pump.name):
                continue
            if sd < WELL_KNOWN * rate:
                self.draws.note(pump.name, wall // DAY_S, dt_s, rate)
            if pump.name in pressures_pa:
                self.pressures.note(pump.name, wall // DAY_S, dt_s, pressures_pa[pump.name])

    def standing(self, pumps: Sequence[PumpWatch]) -> list[dict[str, Any]]:
        """For each pump of the rig file, the days it was seen on and the verdict on them."""
        return [self._one(pump.name) for pump in pumps]

    def _one(self, pump: str) -> dict[str, Any]:
        days, pressures = self.draws.seen(pump), self.pressures.seen(pump)
        draw, pressure = season([mean for _, mean in days]), season([mean for _, mean in pressures])
        return {
            "pump": pump, "days": days, "verdict": draw.verdict, "change": round(draw.change, 4),
            "look_at": list(draw.look_at), "pressure_days": len(pressures),
            "pressure_change": None if pressure.verdict == "too few" else round(pressure.change, 4),
            "nozzle_worn": nozzle_worn(draw, pressure),
        }  # fmt: skip

    def save(self) -> dict[str, Any]:
        return {"draws": self.draws.save(), "pressures": self.pressures.save()}

    def restore(self, saved: Mapping[str, Any]) -> None:
        """What an older program kept is the draws alone."""
        both = saved if isinstance(saved.get("draws"), dict) else {"draws": saved}
        self.draws.restore(both["draws"])
        self.pressures.restore(both.get("pressures", {}))
