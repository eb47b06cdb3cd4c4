"""The forecast of the whole rig: gathers what the balance believes and asks when the water reaches the heel."""

import math
from collections.abc import Collection
from random import Random

from monitor.alarms.rules import Volumes
from monitor.balance.balance import Balance
from monitor.balance.filter import Belief
from monitor.balance.supply import LEAST_L_MIN
from monitor.changes import Forecast, Quality
from monitor.core.intake import Intake
from monitor.forecast.habits import CrewHabit
from monitor.forecast.passage import HORIZON_S, Demand, Forecaster, Spread, Supply, Water, quantile
from monitor.rig.model import Rig

SPLIT = 0.93  # a pump's own share is told only where it is this likely to draw, or not to
UNSURE_L_MIN = 6.0  # without a meter: an inflow less well known than this is not told
TAP_GUESS_S = 3.0 * 3600.0  # before anything is known, a tap is shut or opened once in so long


class Switching:
    """How often the tap has been shut and opened here: counts over hours watched, with one guess mixed in."""

    def __init__(self) -> None:
        self.flowing: bool | None = None
        self.shut = self.opened = 0
        self.on_s = self.off_s = 0.0

    def watch(self, flow_l_min: float, held_by_float: bool, dt_s: float) -> None:
        if held_by_float:
            return
        flowing = flow_l_min > LEAST_L_MIN
        if self.flowing is not None and flowing != self.flowing:
            self.opened += flowing
            self.shut += not flowing
        self.flowing = flowing
        if flowing:
            self.on_s += dt_s
        else:
            self.off_s += dt_s

    @property
    def shut_per_s(self) -> float:
        return (self.shut + 0.5) / (self.on_s + TAP_GUESS_S)

    @property
    def open_per_s(self) -> float:
        return (self.opened + 0.2) / (self.off_s + 1200.0)


class Outlook:
    """Looks ahead every ten seconds."""

    def __init__(self, rig: Rig, intake: Intake, balance: Balance, crew: CrewHabit) -> None:
        self.rig, self.intake, self.balance, self.crew = rig, intake, balance, crew
        self.forecaster = Forecaster(crew)
        self.switching = Switching()
        self.supply_sd_l_min = 0.5
        self.marks = marks(rig)
        valve = rig.supply.float_valve if rig.supply else None
        self.has_valve = valve is not None
        self.throttle_l = valve.starts_closing_l if valve else rig.tank.full_l
        self.shut_l = valve.shut_l if valve else rig.tank.capacity_l

    # -- the tap ----------------------------------------------------------------------------------------------

    def learn_tap(self, at: float, flow_l_min: float, volume_l: float) -> bool:
        """Once a second; whether something was learned. Near full the float valve holds the tap back."""
        margin_l = 0.02 * self.rig.tank.capacity_l
        held = volume_l > self.throttle_l - margin_l
        self.switching.watch(flow_l_min, held, 1.0)
        tap = self.balance.tap
        if not held:
            if tap.l_min is not None and flow_l_min > LEAST_L_MIN:
                off = flow_l_min - tap.l_min
                self.supply_sd_l_min += (abs(off) * 1.25 - self.supply_sd_l_min) / 600.0
            tap.learn(at, flow_l_min, 1.0)
        return not held

    def inflow_l_min(self, belief: Belief) -> float | None:
        """Water coming in now: metered, or without a meter what the balance makes of it."""
        if self.intake.meter is not None:
            return self.intake.meter.inflow.l_min
        if belief.unmetered_sd_l_min < UNSURE_L_MIN:
            return max(0.0, belief.unmetered_l_min)
        return None

    def shut_by_hand(self, belief: Belief) -> bool:
        """The tap has given water here, the float valve stands open, and nothing comes."""
        meter = self.intake.meter
        if meter is None or self.balance.tap.l_min is None or belief.volume_l > self.throttle_l:
            return False
        return meter.inflow.l_min < LEAST_L_MIN

    def coming_in(self, belief: Belief) -> Spread | None:
        """The same with what the balance finds to come or go past the meter, and how well it is known."""
        inflow = self.inflow_l_min(belief)
        if inflow is None:
            return None
        past_l_min = belief.unmetered_l_min if self.intake.meter is not None else 0.0
        return Spread(inflow + past_l_min, math.hypot(self.supply_sd_l_min, belief.unmetered_sd_l_min))

    def leak_l_min(self, belief: Belief) -> float:
        """Water lost past the meter, where the balance is sure of it."""
        lost = -belief.unmetered_l_min - 2.0 * belief.unmetered_sd_l_min
        return max(0.0, lost) if self.intake.meter is not None else max(0.0, -belief.unmetered_l_min)

    # -- the pumps --------------------------------------------------------------------------------------------

    def in_use(self, at: float, besides: Collection[str] = ()) -> list[tuple[str, float, float]]:
        """Name, believed and nominal rate (l/min) of every pump that runs or has drawn within ten minutes."""
        belief = self.balance.belief
        rates = belief.rates_l_min if belief else tuple(p.nominal_l_min for p in self.balance.pumps)
        return [
            (pump.name, rate, pump.nominal_l_min)
            for pump, rate in zip(self.balance.pumps, rates, strict=True)
            if pump.in_use(at) or pump.name in besides
        ]

    def draws_l_min(self, belief: Belief) -> dict[str, float | None]:
        """What each pump takes now; None where its share of the sum cannot be told."""
        draws: dict[str, float | None] = {}
        for pump, share, rate, likely in zip(
            self.balance.pumps, self.balance.shares, belief.now_l_min, belief.drawing, strict=True
        ):
            if pump.drawing is not None:
                draws[pump.name] = rate * self.balance.water_share if pump.drawing else 0.0
            elif share is not None:
                draws[pump.name] = rate * share
            elif likely > SPLIT:
                draws[pump.name] = rate
            else:
                draws[pump.name] = 0.0 if likely < 1.0 - SPLIT else None
        return draws

    def draw_sum_l_min(self, belief: Belief) -> float:
        """What all pumps take now: those with a signal as it stands, not as a mean over the second just past."""
        total = belief.draw_sum_l_min
        for pump, share, rate in zip(self.balance.pumps, self.balance.shares, belief.now_l_min, strict=True):
            if pump.drawing is not None and share is not None:
                total += rate * (float(pump.drawing) * self.balance.water_share - share)
        return max(0.0, total)

    # -- ahead ------------------------------------------------------------------------------------------------

    def look(self, at: float, level: Quality, supply: Quality) -> Forecast:
        """The forecast of now, the coming hour simulated."""
        belief = self.balance.belief
        dry_s = None if belief is None else self._dry_s(at, belief, self.inflow_l_min(belief))
        return self._forecast(at, level, supply, dry_s)

    def now(self, at: float, level: Quality, supply: Quality, last: Forecast | None) -> Forecast:
        """The same without simulating: the last simulated times, less the time since."""
        dry_s = None if last is None or last.dry_s is None else {
            name: None if time_s is None else max(0.0, time_s - (at - last.at)) for name, time_s in last.dry_s.items()
        }  # fmt: skip
        return self._forecast(at, level, supply, dry_s)

    def _forecast(
        self, at: float, level: Quality, supply: Quality, dry_s: dict[str, float | None] | None
    ) -> Forecast:
        belief = self.balance.belief
        names = [p.name for p in self.balance.pumps]
        if belief is None:
            unknown, meter = dict.fromkeys(names), self.intake.meter
            counted = None if meter is None or supply == "bad" else meter.inflow.l_min
            return Forecast(at, None, None, counted, None, None, unknown, unknown, None, None, None, level, supply)
        inflow = self.inflow_l_min(belief)
        unmetered = belief.unmetered_l_min if self.intake.meter is not None else 0.0
        drawn = self.draw_sum_l_min(belief)
        net = None if inflow is None else inflow + unmetered - drawn
        flat_out = sum(rate for _, rate, _ in self.in_use(at))
        usable = belief.volume_l - self.marks.heel
        return Forecast(
            at, belief.volume_l, belief.volume_sd_l, inflow, net, drawn, self.draws_l_min(belief),
            dict(zip(names, belief.rates_l_min, strict=True)), dry_s,
            _time_s(usable, net), _time_s(usable, None if inflow is None else inflow + unmetered - flat_out),
            level, supply,
        )  # fmt: skip

    def _dry_s(self, at: float, belief: Belief, inflow: float | None) -> dict[str, float | None]:
        tap = self.balance.tap.l_min
        now = belief.unmetered_l_min + (inflow or 0.0) * (self.intake.meter is not None)
        heel = self.marks.heel
        water = Water(Spread(belief.volume_l - heel, belief.volume_sd_l), self.shut_l - heel, self.throttle_l - heel)
        sd = math.hypot(self.supply_sd_l_min, belief.unmetered_sd_l_min)
        supply = Supply(max(0.0, now), max(now, tap or 0.0), sd, self.switching.shut_per_s, self.switching.open_per_s)
        demands = [
            Demand(Spread(rate, sd))
            for rate, sd in zip(belief.rates_l_min, belief.rates_sd_l_min, strict=True)
        ]
        times = self.forecaster.passages(at, water, supply, demands, belief.drawing, Random(int(at)))
        return {name: _within(quantile(times, q)) for name, q in (("p05", 0.05), ("p50", 0.5), ("p95", 0.95))}


def marks(rig: Rig) -> Volumes:
    tank = rig.tank
    return Volumes(tank.heel_l, tank.band_l[0], tank.full_l, tank.capacity_l, tank.tow_limit_l)


def _within(seconds: float) -> float | None:
    return seconds if seconds <= HORIZON_S else None


def _time_s(usable_l: float, net_l_min: float | None) -> float | None:
    """Seconds until a usable volume is gone; None where the water is not falling."""
    if net_l_min is None or net_l_min >= -0.05:
        return None
    return 60.0 * max(0.0, usable_l) / -net_l_min
