"""Verdicts on the level and the inflow: how far each can be believed, and what unaccounted water speaks of."""

import math
from typing import Literal, NamedTuple

from monitor.balance.balance import Balance
from monitor.balance.redundancy import Redundancy
from monitor.balance.trust import AWAY_S, GOOD, MATTERS_L_MIN, Verdict
from monitor.core.intake import Intake, LevelInput
from monitor.core.signals import Signal

OUT_S = 3.0
SETTLES_S = 240.0
JUMP_SHOWN_S = 60.0
STARVED_MEMORY_S = 600.0
WITH_THE_FLOW = 0.35  # lost water under this share of the inflow is the meter's error, not a leak
TRICKLE_L_MIN = 1.2  # less may be a trickle under the meter's cut-off
CREEP_L_MIN = 3.0  # no tap gives so little for long


class Odd(NamedTuple):
    """Water that is not accounted for (l/min, positive: gained), and what it speaks of."""

    what: Literal["", "leak", "meter", "creeping"] = ""
    l_min: float = 0.0


NOTHING_ODD = Odd()


class Verdicts:
    """Looks at the signals before the balance takes them in. Reads the other parts, changes none of them."""

    def __init__(self, intake: Intake, balance: Balance, redundancy: Redundancy, capacity_l: float) -> None:
        self.intake, self.balance, self.redundancy, self.capacity_l = intake, balance, redundancy, capacity_l
        self.filling_until = self.dumping_until = -math.inf
        self.level = self.supply = Verdict("uncertain", "never heard")
        self.odd = NOTHING_ODD
        self._starved_at = -math.inf
        self._moved = [0.0] * len(intake.levels)
        self._drawn = [0.0] * len(intake.levels)

    def look(self, at: float) -> None:
        """Verdicts on level and supply, before the balance takes them in."""
        self.odd = self._odd(at)
        verdicts = [self._level(at, level) for level in self.intake.levels]
        for level, verdict in zip(self.intake.levels, verdicts, strict=True):
            signal = self.intake.signals[level.settings.reading]
            signal.quality, signal.why = verdict
        self.level = min(verdicts, key=lambda v: ("good", "uncertain", "bad").index(v.quality))
        self.supply = self._supply(at)
        supply = self.supply_signal()
        if supply is not None:
            supply.quality, supply.why = self.supply

    def pump_starved(self, at: float) -> None:
        """A starved pump holds the level up: for a while that must not be taken for water from past the meter."""
        self._starved_at = at

    def drawn_since_change_l(self, k: int) -> float:
        """What pumps surely drew while the k-th level repeated itself to the digit (l)."""
        return self._drawn[k]

    def _level(self, at: float, level: LevelInput) -> Verdict:
        signal = self.intake.signals[level.settings.reading]
        if signal.alive.heard_s is None:
            return Verdict("bad", "never heard")
        if self.intake.lost(at, signal):
            return Verdict("bad", "missing")
        if level.out_of_range_since is not None and at - level.out_of_range_since >= OUT_S:
            return Verdict("bad", "out of range")
        if self._frozen(at, level):
            return Verdict("bad", "frozen")
        return self._parted(at)

    def _parted(self, at: float) -> Verdict:
        parting = self.balance.parting
        if self._just_moved(at) or self._told_of(at) or self._back(at):
            return GOOD
        if parting.since is not None and at - parting.since > 3.0:
            return Verdict("uncertain", "jumping")
        if parting.jumped_at is not None and at - parting.jumped_at < JUMP_SHOWN_S:
            return Verdict("uncertain", "jumping")
        return Verdict("uncertain", "drifting") if self.odd.what == "creeping" else GOOD

    def _back(self, at: float) -> bool:
        """The level was away, and comes back wherever the water has gone meanwhile."""
        taken_at = self.balance.taken_at
        return taken_at is not None and at - taken_at > AWAY_S

    def _just_moved(self, at: float) -> bool:
        moved_at = self.balance.moved_at
        return bool(self.intake.moving) or (moved_at is not None and at - moved_at < 180.0)

    def note_moved(self, metered_l: float, drawn_l: float) -> None:
        """Water that surely moved in this second: a level that shows the same digits through it is frozen."""
        for k, level in enumerate(self.intake.levels):
            if level.sense.run <= 1:
                self._moved[k] = self._drawn[k] = 0.0
            self._moved[k] += metered_l - drawn_l
            self._drawn[k] += drawn_l

    def _frozen(self, at: float, level: LevelInput) -> bool:
        k = self.intake.levels.index(level)
        if level.sense.repeats_oddly(at):
            return True
        return level.sense.run_s(at) > 10.0 and abs(self._moved[k]) > self.clear_l()

    def clear_l(self) -> float:
        """Water enough to show on any working level: several times its noise, and never less than 4 l."""
        return max(4.0, 5.0 * self.noise_l())

    def noise_l(self) -> float:
        belief = self.balance.belief
        table = self.balance.tank
        height = table.height_m(belief.volume_l) if belief else 0.5 * table.top_m
        return math.sqrt(self.balance.noise.var_m2) * table.slope_l_per_m(height)

    def level_usable(self) -> bool:
        return self.level.reason not in ("missing", "out of range", "frozen", "never heard")

    def supply_silent(self) -> bool:
        return self.supply.reason in ("missing", "never heard")

    def _supply(self, at: float) -> Verdict:
        signal = self.supply_signal()
        if signal is None:
            return Verdict("uncertain")
        if signal.alive.heard_s is None:
            return Verdict("bad", "never heard")
        if self.intake.lost(at, signal):
            return Verdict("bad", "missing")
        return Verdict("uncertain", "contradicts") if self.odd.what == "meter" else GOOD

    def supply_signal(self) -> Signal | None:
        return next((s for s in self.intake.signals.values() if s.kind == "supply"), None)

    def _odd(self, at: float) -> Odd:
        """Water that the balance can't account for, and what that speaks of.

        Seen over a window with no pump drawing, or by the filter's own unmetered flow. Lost water is a leak unless it
        goes with the metered flow, then the meter over-reads. Gained water is a meter that reads low or stands; a
        trickle of it with the tap shut is a level that creeps.
        """
        if not self.level_usable() or self._just_moved(at) or self.intake.meter is None:
            return NOTHING_ODD
        if self._told_of(at) or self._at_the_brim():
            return NOTHING_ODD
        rate = self._unaccounted_l_min(at)
        flow = self.intake.meter.inflow.l_min
        if rate is None or at - self._starved_at < STARVED_MEMORY_S:
            return NOTHING_ODD
        if rate < 0.0:
            return Odd("leak" if flow < 0.5 or -rate > WITH_THE_FLOW * flow else "meter", rate)
        if flow < 0.5 and rate < CREEP_L_MIN and self.odd.what != "meter":  # what it was, it stays until it fits again
            return Odd("creeping", rate) if rate > TRICKLE_L_MIN else NOTHING_ODD
        return Odd("meter", rate)

    def _at_the_brim(self) -> bool:
        """What runs over is lost too, and the level can't rise: that is `overfill`'s to say."""
        belief = self.balance.belief
        return belief is not None and belief.volume_l + belief.volume_sd_l > self.capacity_l

    def _told_of(self, at: float) -> bool:
        """Somebody said that water comes or goes past the meter: it is so as long as it lasts, and a while after."""
        rate = self.balance.unaccounted.rate_l_min() or 0.0
        if at < self.filling_until and rate > CREEP_L_MIN:
            self.filling_until = max(self.filling_until, at + JUMP_SHOWN_S)
        if at < self.dumping_until and rate < -CREEP_L_MIN:
            self.dumping_until = max(self.dumping_until, at + JUMP_SHOWN_S)
        return at < max(self.filling_until, self.dumping_until) + SETTLES_S

    def _unaccounted_l_min(self, at: float) -> float | None:
        for window_s in (180.0, 420.0, 900.0):
            r = self.redundancy.over(window_s, self.noise_l())
            if r is not None and r.idle and abs(r.off_l) > max(6.0 * r.sd_l, 4.0, MATTERS_L_MIN * window_s / 60.0):
                self.balance.unaccounted.seen(60.0 * r.off_l / window_s)
        return self.balance.unaccounted.rate_l_min()
