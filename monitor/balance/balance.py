"""The water balance of one rig, ticked once a second: level, meter and pump signals in, one belief out."""

import math
from collections.abc import Callable
from typing import NamedTuple

from monitor.balance.filter import Belief, Filter, Spreads
from monitor.balance.heel import NEAR_SD, TOLD_SD_M, Heel
from monitor.balance.kalman import V
from monitor.balance.level import LevelNoise, Seen
from monitor.balance.modes import Modes, Rate
from monitor.balance.pumps import PumpWatch
from monitor.balance.supply import LEAST_L_MIN, Inflow, Tap
from monitor.balance.trust import AWAY_S, GATE, Parting, Tally, Unaccounted

TABLE_SD_M = 0.003  # how well a strapping table, or a shape from a tape measure, fits the tank
GAINED_SHARE = 0.35  # of the unwatched pumps' rates: gained water up to this may be a draw thought too large
TOLD_GATE = 4.0  # a person's word two sd from what is believed: one of the two is not what it was taken for
UNKNOWN = 0.5  # how likely a pump draws that no signal tells of, before there is a balance
BLIND_S = 10.0  # a level that is heard at all is heard by then
BLIND_SD = 0.5  # of what may have been drawn unseen
TILT_SD = 6.0  # a step within so many sd of the bias may be tilt
NEW_PLACE = 20  # levels that tell of the tilt of a new place; later ones would take errors of the meter for it

Shares = tuple[float | None, ...]


def level_spreads(levels: int) -> Spreads:
    """Two level sensors let the tilt fall out of their mean; one alone leaves it in."""
    spreads = Spreads()
    return spreads._replace(bias_m=spreads.bias_m / 3.0) if levels > 1 else spreads


class Left(NamedTuple):
    """How things were left at a stop of minutes: the volume (l), what the level read too high (m), and their sds."""

    volume_l: float
    sd_l: float
    bias_m: float
    bias_sd_m: float
    for_s: float
    """How long the stop was."""


class TankTable(NamedTuple):
    """The three functions of a strapping table, and its ends."""

    volume_l: Callable[[float], float]
    height_m: Callable[[float], float]
    slope_l_per_m: Callable[[float], float]
    capacity_l: float
    top_m: float


class Balance:
    """Holds the filter and what it needs between ticks."""

    def __init__(
        self,
        tank: TankTable,
        pumps: tuple[PumpWatch, ...],
        metered: bool,
        spreads: Spreads | None = None,
        heel_l: float = 0.0,
    ) -> None:
        self.heel_l, self.heel = heel_l, Heel()
        self.modes = Modes(len(pumps))
        self.tank, self.pumps, self.metered = tank, pumps, metered
        self.spreads = spreads or Spreads()
        self.filter: Filter | None = None
        self.noise = LevelNoise()
        self.inflow, self.tap = Inflow(), Tap()
        self.parting, self.tally = Parting(), Tally()
        self.rates: tuple[tuple[float, float], ...] | None = None
        self.remembered: tuple[float, float] | None = None
        """Volume and sd of before a stop that may have been long."""
        self.left: Left | None = None
        self._waits_since: float | None = None
        self.shares: tuple[float | None, ...] = tuple(None for _ in pumps)
        self.unaccounted = Unaccounted()
        self.belief: Belief | None = None
        self.moved_at: float | None = None
        self.new_place = 0
        self.water_share = 1.0
        """Of what the pumps' signals make them take: less than all where they draw air."""
        self.taken_at: float | None = None
        self.blind_l = 0.0
        self.towing = False
        """The trailer moves: nobody washes, so a pump without a signal does not draw."""

    # -- one second -------------------------------------------------------------------------------------------

    def tick(self, at: float, dt_s: float, seen: Seen | None, metered_l: float, unseen_var: float) -> None:
        """`seen`: this second's level where it may be used; `metered_l`: what passed the meter since the last tick."""
        said = tuple(p.share(at, dt_s) for p in self.pumps)
        still = tuple(0.0 if share is None and self.towing else share for share in said)
        self.shares = self._at_the_heel(still, dt_s, metered_l)
        if self.filter is None:
            if not self._begins(at, seen):
                for pump in self.pumps:
                    pump.settle(at, dt_s, UNKNOWN, tellable=False)
                return
        else:
            if self.towing and not self.metered:
                self.filter.no_tap()
            for i, pump in enumerate(self.pumps):
                self.modes.tell(self.filter, i, pump.soaps)
            self.filter.step(dt_s, metered_l, self.shares, unseen_var)
            if seen is not None:
                self._see(at, seen)
        assert self.filter is not None
        self.filter.bound(self.tank.capacity_l)
        self._no_lower()
        self.belief = self._at_full_flow(self._honest(self.filter.belief(self.shares)))
        self._count_blind(at, dt_s, seen is not None)
        self._watch_unaccounted(at, self.belief)
        for pump, probability in zip(self.pumps, self.belief.drawing, strict=True):
            pump.settle(at, dt_s, probability, seen is not None or self.towing)

    def _watch_unaccounted(self, at: float, belief: Belief) -> None:
        """Unmetered water and a pump that nobody watches look alike, as far as such pumps can explain it."""
        drawing = zip(self.shares, belief.drawing, belief.rates_l_min, strict=True)
        unwatched = sum(rate for share, p, rate in drawing if share is None and p >= 0.2)
        if -unwatched < belief.unmetered_l_min < GAINED_SHARE * unwatched:
            self.unaccounted.pause()
        else:
            self.unaccounted.watch(at, belief.unmetered_l_min, belief.unmetered_sd_l_min)

    def _count_blind(self, at: float, dt_s: float, level: bool) -> None:
        """What unwatched pumps may have drawn beyond what is believed, while no level says whether they did."""
        if level or self.belief is None:
            self.blind_l = 0.0
            return
        for pump, share, p, rate in zip(
            self.pumps, self.shares, self.belief.drawing, self.belief.rates_l_min, strict=True
        ):
            if share is None and pump.in_use(at):
                self.blind_l += (1.0 - p) * rate * dt_s / 60.0

    def _at_the_heel(self, shares: Shares, dt_s: float, metered_l: float) -> Shares:
        """Pumps that draw air take together no more water than flows in, whatever their signals say."""
        if self.belief is None:
            return shares  # nothing is known yet of what they take
        wanted_l = sum((s or 0.0) * r for s, r in zip(shares, self.belief.now_l_min, strict=True)) * dt_s / 60.0
        self.heel.passed(wanted_l, metered_l)
        self.water_share = min(1.0, max(metered_l, 0.0) / wanted_l) if self.heel.air and wanted_l else 1.0
        return tuple(s if s is None else s * self.water_share for s in shares)

    def _no_lower(self) -> None:
        """What the tilt hides of the water at the heel is given back."""
        assert self.filter is not None
        if (belief := self.belief) is None:
            return
        sharp_l = 2.0 * TOLD_SD_M * self.tank.slope_l_per_m(self.tank.height_m(self.heel_l))
        draws, leaks = belief.draw_sum_l_min > LEAST_L_MIN, self.unaccounted.rate_l_min() is not None
        hidden_l = self.heel.hidden_l(self.filter.volume_l - self.heel_l, belief.volume_sd_l, draws, leaks, sharp_l)
        if hidden_l:
            self.filter.lift(hidden_l)

    def _listen(self, off_l: float, spread_l2: float, slope: float, gain: list[float]) -> None:
        """Whether the pumps draw air; if so, the water stands at the heel, and what the level says else is tilt."""
        assert self.filter is not None
        assert self.belief is not None
        if not self.metered or abs(self.belief.volume_l - self.heel_l) > NEAR_SD * self.belief.volume_sd_l:
            self.heel.forget()
            self.heel.air = False
        elif self.heel.seen(off_l, spread_l2, gain[V]):
            self.filter.shift([self.heel.left_l if k == V else 0.0 for k in range(len(gain))])
            self.filter.told(self.heel_l + self.heel.above_l, TOLD_SD_M * slope)
            self.heel.forget()

    def soaping_rates(self) -> dict[str, Rate]:
        """What each pump takes past the soap nozzle, where that has been learned (l/min)."""
        rates = self.modes.other if (b := self.belief) is None else self.modes.soaping(b.now_l_min, b.now_sd_l_min)
        return {pump.name: rate for pump, rate in zip(self.pumps, rates, strict=True) if rate is not None}

    def _at_full_flow(self, belief: Belief) -> Belief:
        rates, sds = self.modes.full(belief.now_l_min, belief.rates_sd_l_min)
        return belief._replace(rates_l_min=rates, rates_sd_l_min=sds)

    def _honest(self, belief: Belief) -> Belief:
        """No balance can tell the tank's table from the truth: the volume is never known better than the table is."""
        slope = self.tank.slope_l_per_m(self.tank.height_m(belief.volume_l))
        spread = math.hypot(belief.volume_sd_l, TABLE_SD_M * slope)
        return belief._replace(volume_sd_l=math.hypot(spread, BLIND_SD * self.blind_l))

    def _begins(self, at: float, seen: Seen | None) -> bool:
        """At the level; after a short stop where things were left, if need be without a level."""
        self._waits_since = at if self._waits_since is None else self._waits_since
        if self.left is not None and (seen is not None or at - self._waits_since >= BLIND_S):
            self._go_on(at, self.left, seen)
        elif self.left is None and seen is not None:
            self._begin(at, seen)
        return self.filter is not None

    def _go_on(self, at: float, left: Left, seen: Seen | None) -> None:
        """As if there had been no stop, but for what pumps may have drawn in it, or a tap given."""
        moved_l = sum(rate for rate, _ in self.rates or ()) * left.for_s / 60.0
        slope = self.tank.slope_l_per_m(self.tank.height_m(left.volume_l))
        nominal = tuple(p.nominal_l_min for p in self.pumps)
        self.filter = Filter(nominal, left.volume_l, slope, 0.0, self.spreads, self.rates, self.metered)
        volume_var = left.sd_l * left.sd_l + moved_l * moved_l
        self.filter.stand(left.volume_l, volume_var, left.bias_m, left.bias_sd_m * left.bias_sd_m, slope)
        self.belief = self.filter.belief(self.shares)
        self.taken_at = at - left.for_s
        if seen is not None:
            self._see(at, seen)

    def _begin(self, at: float, seen: Seen) -> None:
        volume_l, slope = self.tank.volume_l(seen.height_m), self.tank.slope_l_per_m(seen.height_m)
        nominal = tuple(p.nominal_l_min for p in self.pumps)
        variance = self.noise.var_m2 * slope * slope
        self.filter = Filter(nominal, volume_l, slope, variance, self.spreads, self.rates, self.metered)
        self.taken_at = at
        if self.remembered is not None:
            self._recall(*self.remembered)

    def _recall(self, volume_l: float, sd_l: float) -> None:
        """What was remembered from before a restart, unless the tank was filled or dumped meanwhile."""
        assert self.filter is not None
        off, spread = self.filter.surprise(volume_l, 0.0, sd_l * sd_l)
        if off * off <= GATE * spread:
            self.filter.told(volume_l, sd_l)

    def _see(self, at: float, seen: Seen) -> None:
        assert self.filter is not None
        height_m = min(max(seen.height_m, 0.0), self.tank.top_m)
        volume_l, slope = self._as_volume(height_m)
        noise_l2 = self.noise.var_m2 * slope * slope
        off, spread = self.filter.surprise(volume_l, slope, noise_l2)
        back = self.taken_at is not None and at - self.taken_at > AWAY_S
        verdict = self.parting.judge(at, off, spread, noise_l2, back)
        if verdict == "wait":
            return
        if verdict == "jump":
            self._stand_anew(height_m, off, slope, noise_l2)
            volume_l, slope = self._as_volume(height_m)
        gain = self.filter.gain(slope, noise_l2)
        self._listen(off, spread, slope, gain)
        self.filter.see(volume_l, slope, noise_l2, self.new_place > 0)
        self.new_place -= self.new_place > 0
        self.taken_at = at
        self._check(off / math.sqrt(spread), off / slope, (spread - noise_l2) / (slope * slope))

    def _as_volume(self, height_m: float) -> tuple[float, float]:
        """The level as a volume for the filter, and the slope, both taken where the filter believes the water stands.

        A slope taken at the noisy height itself would share its noise, and the filter would read that as news of the
        bias: it then walks away, second by second, on any tank whose walls are not upright.
        """
        assert self.belief is not None
        believed_m = self.tank.height_m(self.belief.volume_l)
        slope = self.tank.slope_l_per_m(believed_m)
        return self.belief.volume_l + slope * (height_m - believed_m), slope

    def _check(self, standardised: float, surprise_m: float, foretold_var_m2: float) -> None:
        """Learn the noise; let a lasting one-sided surprise open the unmetered flow, so that it is found quickly."""
        assert self.filter is not None
        self.noise.learn(surprise_m, foretold_var_m2)
        if self.tally.add(standardised):
            self.tally.reset()
            self.filter.doubt_unmetered(max(2.0, 0.3 * abs(self.belief.unmetered_l_min if self.belief else 0.0)))

    def _stand_anew(self, height_m: float, off_l: float, slope: float, noise_l2: float) -> None:
        """A level that stepped and stayed: tilt where that could be, else the water itself is what the level says."""
        assert self.filter is not None
        if abs(off_l) < TILT_SD * self.spreads.bias_m * slope:
            self.filter.moved(off_l / slope)
        else:
            slope, bias_var = self.tank.slope_l_per_m(height_m), self.spreads.bias_m**2
            volume_var = noise_l2 + slope * slope * bias_var
            self.filter.stand(self.tank.volume_l(height_m), volume_var, 0.0, bias_var, slope)

    # -- what else is told ------------------------------------------------------------------------------------

    def move(self, at: float) -> None:
        """The trailer has come to rest somewhere else."""
        self.moved_at, self.new_place = at, NEW_PLACE
        if self.filter is not None:
            self.filter.moved()
            if not self.metered:
                self.filter.new_tap()

    def told(self, volume_l: float, sd_l: float) -> None:
        """A person looked at the tank. Where that can't be squared with what was believed, the level reads wrong by
        more than a tilt: its bias is then open by as much. Before any level was heard the balance begins with it."""
        if self.filter is None or self.belief is None:
            self.left = Left(volume_l, sd_l, 0.0, self.spreads.bias_m, 0.0)
            return
        off_l, spread = self.filter.surprise(volume_l, 0.0, sd_l * sd_l)
        if off_l * off_l > TOLD_GATE * spread:
            now, slope = self.belief, self.tank.slope_l_per_m(self.tank.height_m(volume_l))
            bias_var = now.bias_sd_m**2 + (off_l / slope) ** 2
            self.filter.stand(now.volume_l, now.volume_sd_l**2 + off_l * off_l, now.bias_m, bias_var, slope)
        self.filter.told(volume_l, sd_l)
        self.parting.since = None
