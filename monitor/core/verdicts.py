"""Verdicts on the level and the inflow: how far each can be believed, and what unaccounted water speaks of."""

import math
from typing import Any

from monitor.balance.balance import Balance
from monitor.balance.diagnosis import CREEP_L_MIN, NOTHING_ODD, SUSPECT_S, Bounds, Diagnosis, Odd
from monitor.balance.following import Following
from monitor.balance.standstill import Standstill
from monitor.balance.steps import CREEPS_S, Says, Second, Steps
from monitor.balance.trust import AWAY_S, GOOD, Verdict
from monitor.core.intake import Intake, LevelInput
from monitor.core.outlook import Outlook
from monitor.core.signals import Signal

OUT_S = 3.0
SETTLES_S = 240.0
JUMP_SHOWN_S, JUMPS_S = 60.0, 20.0  # a steady false echo has been seen to last 18 s
STARVED_MEMORY_S = 600.0
LATEST_S = 3.0
OFF_M = 0.02  # a trailer half a degree out of level, over its two metres
DRAINED = 0.5  # of the heel
UNACCOUNTED = 0.25  # of the usual flow: no leak by the drop, and no sound meter's error
BEGINS_S = 90.0  # the first reading of all may have been the odd one: a level elsewhere has not jumped so soon


class Verdicts:
    """Looks at the signals before the balance takes them in. Reads the other parts, changes none of them."""

    def __init__(self, intake: Intake, balance: Balance, diagnosis: Diagnosis, outlook: Outlook) -> None:
        self.intake, self.balance, self.diagnosis = intake, balance, diagnosis
        self.capacity_l, self.throttle_l = outlook.marks.capacity, outlook.throttle_l
        self.filling_until = self.dumping_until = -math.inf
        self.level = self.supply = Verdict("uncertain", "never heard")
        self.odd = NOTHING_ODD
        self.steps = Steps(balance.tank)
        self.followings = [Following() for _ in intake.levels]
        self.standstills = [Standstill() for _ in intake.levels]
        self._starved_at = self._slid_at = self._crept_at = -math.inf
        self._creeps_m_min = 0.0
        self._doubted = False
        """As the metered flow stepped: from then on nobody knows what the water does. Where much was not accounted for,
        something else was wrong already, and the level foretells nothing."""
        self._begun_at: float | None = None
        self._moved = [0.0] * len(intake.levels)
        self._drawn = [0.0] * len(intake.levels)

    def look(self, at: float) -> None:
        """Verdicts on level and supply, before the balance takes them in."""
        if self._begun_at is None and self.balance.belief is not None:
            self._begun_at = at
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

    def slid(self, at: float, slides: bool) -> bool:
        """The level stands elsewhere; but where it slid there, it is the water that runs, and no jump to speak of."""
        if slides:
            self._slid_at = at
        return slides

    def watch_steps(self, at: float, height_m: float | None, metered_l: float) -> None:
        """A metered flow that steps: has the water changed, or the meter?"""
        meter, now = self.intake.meter, self.balance.filter
        if meter is None or now is None:
            return
        elsewhere = self._just_moved(at) or self.balance.parting.anew_at == at
        if elsewhere or self._told_of(at) or self.supply_silent() or self._drained():
            self.steps.forget()
            return
        step = self.steps.step
        if self.odd.what == "leak" and step is not None and not (step.stop or step.told):
            self.steps.clear()  # the two filters know of no leak, and would lay it to the meter
        if self.steps.step is None:
            self._doubted = self._doubtful or self._unaccounted(UNACCOUNTED * self.steps.usual_l_min)
        believed = height_m if self.balance.parting.since is None and self.level_usable() else None
        creeps, noise_m2 = self.diagnosis.creeps(CREEPS_S), self.balance.noise.var_m2
        second = Second(at, metered_l, self.balance.shares, believed, noise_m2, creeps)
        self.steps.add(second, meter.inflow.l_min, meter.inflow.counted_at, now)

    @property
    def stepped(self) -> Says | None:
        """What the step of the metered flow was, "" while that is not clear; None where there was none.

        The meter is said to be wrong only by a level that follows the water; without one a stop is the tap's.
        """
        step = self.steps.step
        if step is None:
            return None
        if step.says != "meter":
            return step.says
        step.told = step.told or not (self._doubted if step.stop else self._doubtful)
        return "meter" if step.told else "water" if step.stop else ""

    @property
    def _doubtful(self) -> bool:
        """The level has not followed the water as it should, or not for certain."""
        return self.stands_still or all(each.doubtful for each in self.followings)

    def _unaccounted(self, least_l_min: float) -> bool:
        """More water than that comes or goes past all signals, as far as the balance can tell."""
        belief = self.balance.belief
        return belief is not None and abs(belief.unmetered_l_min) > max(least_l_min, 3.0 * belief.unmetered_sd_l_min)

    @property
    def uncounted_l_min(self) -> float:
        """Water that comes in and is not counted, as far as it has been named."""
        step = self.steps.step
        stepped = step.usual_l_min * (1.0 - step.share) if step is not None and self.stepped == "meter" else 0.0
        return max(0.0, self.odd.l_min, stepped)

    @property
    def stopped(self) -> Says | None:
        """The same where nothing is counted any more."""
        return self.stepped if self.steps.step is not None and self.steps.step.stopped else None

    @property
    def stop_unproven(self) -> bool:
        """Nothing is counted, and no level has shown that nothing comes: the tap was named for want of a sign."""
        step = self.steps.step
        return step is not None and step.stopped and not step.proven

    @property
    def stands_still(self) -> bool:
        """The level trembles, and does not follow the water."""
        return bool(self.followings) and all(each.stands for each in self.followings)

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
        begins = self._begun_at is None or at - self._begun_at < BEGINS_S
        if begins or self._just_moved(at) or self._told_of(at) or self._back(at) or self._draws_air(at):
            return GOOD
        if parting.since is not None and self._elsewhere and at - parting.since > JUMPS_S:
            return Verdict("uncertain", "jumping")
        jumped_at = parting.jumped_at if parting.jumped_at != self._slid_at else None
        if jumped_at is not None and at - jumped_at < JUMP_SHOWN_S:
            return Verdict("uncertain", "jumping")
        return Verdict("uncertain", "drifting") if self.odd.what == "creeping" else GOOD

    def _draws_air(self, at: float) -> bool:
        """As near the heel as is known: pumps may draw air, and the level stays above what is foretold."""
        belief = self.balance.belief
        low = belief is not None and belief.volume_l - belief.volume_sd_l < self.balance.heel_l
        return low and any(pump.in_use(at) for pump in self.balance.pumps)

    def _back(self, at: float) -> bool:
        """The level was away, and comes back wherever the water has gone meanwhile."""
        taken_at = self.balance.taken_at
        return taken_at is not None and at - taken_at > AWAY_S

    def _just_moved(self, at: float) -> bool:
        moved_at = self.balance.moved_at
        return bool(self.intake.moving) or (moved_at is not None and at - moved_at < 180.0)

    def note_moved(self, at: float, metered_l: float, drawn_l: float, rests: bool) -> None:
        """Water that surely moved in this second: a level that shows the same digits through it is frozen.
        `rests`: by their own signals no pump draws."""
        told = all(share is not None for share in self.balance.shares)
        brim, unclear = self.at_the_brim(), self.stopped in ("", "meter")
        still = bool(self.intake.moving) or brim or unclear  # on the road, running over, uncounted: it need not follow
        jumps = self._elsewhere or (self.balance.parting.sudden and self.balance.parting.anew_at == at)
        unknown = self._drained() or self._draws_air(at) or jumps  # one that jumps does not follow, and stands no more
        for k, level in enumerate(self.intake.levels):
            height = None if still else level.sense.latest(at, LATEST_S)
            level_l = None if height is None else self.balance.tank.volume_l(height)
            if unknown:
                self.followings[k].pause()
            else:
                self.followings[k].add(at, level_l if told else None, metered_l - drawn_l, self.noise_l())
            self._watch_standstill(at, k, level_l, metered_l, rests)
            if level.sense.run <= 1 or still or self._drained():
                self._moved[k] = 0.0
            if level.sense.run <= 1 or brim:
                self._drawn[k] = 0.0
            self._moved[k] += metered_l - drawn_l
            self._drawn[k] += drawn_l

    def _watch_standstill(self, at: float, k: int, level_l: float | None, metered_l: float, rests: bool) -> None:
        if self.intake.moving:
            self.standstills[k].forget()
            return
        if self.at_the_brim() or self._drained() or self._told_of(at):
            self.standstills[k].pause()
            return
        self.standstills[k].add(at, level_l, metered_l, rests)

    def _drained(self) -> bool:
        """So far below the heel only a leak gets, and what comes in may run out again."""
        belief = self.balance.belief
        return belief is not None and belief.volume_l - belief.volume_sd_l < DRAINED * self.balance.heel_l

    @property
    def may_stand(self) -> bool:
        """For the last minute the level has not risen though it should: not clear yet what that is."""
        return any(each.says == "may" for each in self.standstills)

    @property
    def _elsewhere(self) -> bool:
        """The level went off at one stroke, and may have jumped: not clear yet; water slides."""
        return self.balance.parting.since is not None and self.balance.parting.sudden

    def _frozen(self, at: float, level: LevelInput) -> bool:
        k = self.intake.levels.index(level)
        if self.followings[k].stands or self.standstills[k].stands:
            return True
        if level.sense.repeats_oddly(at) and not self._drained():  # at the floor there is nothing left to tremble
            return True
        return level.sense.run_s(at) > 10.0 and abs(self._moved[k]) > self.clear_l()

    # -- over a short stop ------------------------------------------------------------------------------------

    def save_levels(self, at: float) -> dict[str, Any]:
        """Of each level that has spoken, what its verdict rests on."""
        return {
            level.settings.reading: shown | {
                "moved_l": self._moved[k], "drawn_l": self._drawn[k], "stands": self.followings[k].stands,
            }
            for k, level in enumerate(self.intake.levels) if (shown := level.sense.save(at))
        }  # fmt: skip

    def restore_levels(self, at: float, saved: dict[str, Any]) -> None:
        for k, level in enumerate(self.intake.levels):
            if (was := saved.get(level.settings.reading)) is not None:
                level.sense.restore(at, was)
                self._moved[k], self._drawn[k] = was["moved_l"], was["drawn_l"]
                self.followings[k].resume(at, was["stands"])

    # -- how much is clear ------------------------------------------------------------------------------------

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
        step = self.steps.step
        if step is not None and self.stepped == "meter":
            self.diagnosis.suspect_meter(at, step.usual_l_min * (1.0 - step.share))
        wrong = self.stepped == "meter" or self.odd.what == "meter"
        return Verdict("uncertain", "contradicts") if wrong else GOOD

    def supply_signal(self) -> Signal | None:
        return next((s for s in self.intake.signals.values() if s.kind == "supply"), None)

    def _odd(self, at: float) -> Odd:
        """Water that the balance can't account for, and what that speaks of."""
        meter, belief = self.intake.meter, self.balance.belief
        if meter is None or belief is None or not self.level_usable() or self._just_moved(at):
            return NOTHING_ODD
        if self._told_of(at) or self.at_the_brim():
            self.diagnosis.forget()
            return NOTHING_ODD
        if at - self._starved_at < STARVED_MEMORY_S:
            return NOTHING_ODD
        height_m = self.balance.tank.height_m(belief.volume_l)
        slope = self.balance.tank.slope_l_per_m(height_m)
        throttled = belief.volume_l + belief.volume_sd_l > self.throttle_l
        least_l_min = min(belief.rates_l_min, default=math.inf)
        tilted, crept = self._shape(height_m, OFF_M), self._shape(height_m, OFF_M + self._crept_m(at, slope))
        bounds = Bounds(throttled, slope, self.noise_l(), least_l_min, tilted, crept)
        step = self.steps.step
        if step is not None and step.says == "meter" and self.diagnosis.meter_sound(bounds, at - step.at):
            self.steps.clear()
        return self.diagnosis.look(at, bounds, self.may_stand or self._elsewhere)

    def _crept_m(self, at: float, slope_l_per_m: float) -> float:
        """So far off a level that creeps may be by now: as if it had crept ever since it was first heard."""
        if self.odd.what == "creeping":
            self._creeps_m_min, self._crept_at = abs(self.odd.l_min) / slope_l_per_m, at
        if self._begun_at is None or at - self._crept_at > SUSPECT_S:
            return 0.0
        return self._creeps_m_min * (at - self._begun_at) / 60.0

    def _shape(self, height_m: float, off_m: float) -> float:
        """By what share the tank widens or narrows over as much as tilt and a drift may put the level off."""
        tank = self.balance.tank
        low, here, high = (tank.slope_l_per_m(max(0.0, height_m + off)) for off in (-off_m, 0.0, off_m))
        return max(abs(low - here), abs(high - here)) / max(here, 1e-9)

    def at_the_brim(self) -> bool:
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
