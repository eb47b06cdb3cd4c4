"""Judges the signals and the situation once a second, and puts each alarm's condition before the board."""

import math
from collections.abc import Iterator
from typing import Literal, NamedTuple

from monitor.alarms import rules
from monitor.alarms.board import Condition, Key
from monitor.alarms.catalogue import Mode
from monitor.alarms.rules import REBOOTS, Situation
from monitor.balance.balance import Balance
from monitor.balance.pumps import PumpWatch
from monitor.balance.redundancy import Redundancy, Residual
from monitor.balance.trust import AWAY_S, GOOD, MATTERS_L_MIN, Verdict
from monitor.core.intake import Intake, LevelInput
from monitor.core.outlook import Outlook
from monitor.core.signals import Signal
from monitor.rig.model import Rig

LOW_SHARE = 1.2816  # standard normal, 10 %
OUT_S = 3.0
SETTLES_S = 240.0
GRACE_S = 2.0  # a node silent just past its limit may be a few lost packs
RAW_S = 20.0
RAW_HOLD_S = 8.0
RAW_DRY_S = 20.0
JUMP_SHOWN_S = 60.0
VACUUM_PA = -27_000.0  # gauge; more vacuum than about 8 inHg at the inlet: common practice, no published source
STARVED_SHARE, STARVED_S, STARVED_MEMORY_S = 0.7, 30.0, 600.0
FLOW_KNOWN_S = 60.0
WITH_THE_FLOW = 0.35  # lost water under this share of the inflow is the meter's error, not a leak
TRICKLE_L_MIN = 1.2  # less may be a trickle under the meter's cut-off
CREEP_L_MIN = 3.0  # no tap gives so little for long


class Odd(NamedTuple):
    """Water that is not accounted for (l/min, positive: gained), and what it speaks of."""

    what: Literal["", "leak", "meter", "creeping"] = ""
    l_min: float = 0.0


NOTHING_ODD = Odd()


class Judge:
    """Reads the other parts, changes none of them; owns only what has to be remembered between two seconds."""

    def __init__(
        self, rig: Rig, intake: Intake, balance: Balance, redundancy: Redundancy, outlook: Outlook
    ) -> None:
        self.rig, self.intake, self.balance = rig, intake, balance
        self.redundancy, self.outlook = redundancy, outlook
        self.marks = outlook.marks
        self.records: dict[str, float] = {}
        self.packing_up = self.laid_up = False
        self.filling_until = self.dumping_until = -math.inf
        self.journal_ok: bool | None = None
        self.water_is_low = False
        self.level = self.supply = Verdict("uncertain", "never heard")
        self._held: set[Key] = set()
        self.odd = NOTHING_ODD
        self._starved_at = -math.inf
        self._raw_since: float | None = None
        self._raw_dry_since = math.inf
        self._flowed_s = 0.0
        self._moved = [0.0] * len(intake.levels)
        self._drawn = [0.0] * len(intake.levels)

    # -- the signals ------------------------------------------------------------------------------------------

    def look_at_signals(self, at: float) -> None:
        """Verdicts on level and supply, before the balance takes them in."""
        self.odd = self._odd(at)
        verdicts = [self._level(at, level) for level in self.intake.levels]
        for level, verdict in zip(self.intake.levels, verdicts, strict=True):
            signal = self.intake.signals[level.settings.reading]
            signal.quality, signal.why = verdict
        self.level = min(verdicts, key=lambda v: ("good", "uncertain", "bad").index(v.quality))
        self.supply = self._supply(at)

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
        return level.sense.run_s(at) > 10.0 and abs(self._moved[k]) > self._clear_l()

    def _clear_l(self) -> float:
        """Water enough to show on any working level: several times its noise, and never less than 4 l."""
        return max(4.0, 5.0 * self._noise_l())

    def _noise_l(self) -> float:
        belief = self.balance.belief
        table = self.balance.tank
        height = table.height_m(belief.volume_l) if belief else 0.5 * table.top_m
        return math.sqrt(self.balance.noise.var_m2) * table.slope_l_per_m(height)

    def level_usable(self) -> bool:
        return self.level.reason not in ("missing", "out of range", "frozen", "never heard")

    def supply_silent(self) -> bool:
        return self.supply.reason in ("missing", "never heard")

    def _supply(self, at: float) -> Verdict:
        signal = self._supply_signal()
        if signal is None:
            return Verdict("uncertain")
        if signal.alive.heard_s is None:
            return Verdict("bad", "never heard")
        if self.intake.lost(at, signal):
            return Verdict("bad", "missing")
        return Verdict("uncertain", "contradicts") if self.odd.what == "meter" else GOOD

    def _supply_signal(self) -> Signal | None:
        return next((s for s in self.intake.signals.values() if s.kind == "supply"), None)

    # -- the situation ----------------------------------------------------------------------------------------

    def situation(self, at: float) -> Situation:
        belief = self.balance.belief
        base = Situation(self.marks, self.rig.warn.act_time_s, raw_l=self._raw_l(at))
        in_use = self.outlook.in_use(at)
        meter = self.intake.meter
        base = base._replace(
            metered_l_min=meter.inflow.l_min if meter else 0.0,
            flat_out_l_min=sum(rate for _, rate, _ in in_use),
            nominal_l_min=sum(nominal for _, _, nominal in in_use),
        )
        if belief is None:
            return base
        return base._replace(
            volume_l=belief.volume_l,
            low_l=belief.volume_l - LOW_SHARE * belief.volume_sd_l - self.balance.blind_l,
            inflow_l_min=self.outlook.inflow_l_min(belief) or 0.0,
            leak_l_min=self.outlook.leak_l_min(belief),
        )

    def _raw_l(self, at: float) -> float | None:
        level = self.intake.levels[0]
        height = level.sense.typical(at, RAW_S)
        return None if height is None else self.balance.tank.volume_l(max(0.0, height))

    # -- the conditions ---------------------------------------------------------------------------------------

    def conditions(self, at: float) -> dict[Key, Condition]:
        s = self.situation(at)
        self.water_is_low = s.low_l is not None and s.low_l < max(s.marks.band_low, s.marks.heel * 1.3)
        said: dict[Key, Condition] = {}
        for found in (
            self._water(at, s), self._signals(at), self._nodes(at), self._pumps(at), self._supply_side(at, s),
            self._others(at, s),
        ):  # fmt: skip
            said.update(found)
        self._held = {key for key, condition in said.items() if condition.holds}
        return said

    def _stood(self, alarm: str, subject: str = "") -> bool:
        return (alarm, subject) in self._held

    def _water(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        time_s = rules.usable_time_s(s.low_l, s) if s.low_l is not None else None
        values = {
            "volume_l": s.volume_l, "low_l": s.low_l, "raw_l": s.raw_l, "inflow_l_min": s.inflow_l_min,
            "flat_out_l_min": s.flat_out_l_min,
        }  # fmt: skip
        shown = time_s if time_s is not None and math.isfinite(time_s) else None
        yield ("dry", ""), Condition(self._dry(at, s), values, "heel")
        yield ("dry-soon", ""), Condition(self._dry_soon(at, s), values, time_s=shown)
        yield ("water-low", ""), Condition(rules.water_low(s, self._stood("water-low")), values, time_s=shown)
        yield ("overfill", ""), Condition(rules.overfill(s, self._stood("overfill")), values)

    def _dry(self, at: float, s: Situation) -> bool | None:
        """By the balance at once; by the raw level alone when it has said so for longer than an echo lasts."""
        if s.raw_l is None or s.raw_l > s.marks.heel:
            self._raw_dry_since = at
        return rules.dry(s, self._stood("dry"), at - self._raw_dry_since >= RAW_DRY_S)

    def _dry_soon(self, at: float, s: Situation) -> bool | None:
        """Either path raises it; only both together clear it, and an unknown clears nothing."""
        main = rules.dry_soon(s, self._stood("dry-soon"))
        raw = rules.dry_soon_raw(s)
        if not raw:
            self._raw_since = None
        elif self._raw_since is None:
            self._raw_since = at
        if raw and self._raw_since is not None and at - self._raw_since >= RAW_HOLD_S:
            return True
        return main

    def _signals(self, at: float) -> Iterator[tuple[Key, Condition]]:
        for level in self.intake.levels:
            signal = self.intake.signals[level.settings.reading]
            yield _of_signal("level-signal", signal, Verdict(signal.quality or "uncertain", signal.why))  # type: ignore[arg-type]
        supply = self._supply_signal()
        if supply is not None:
            verdict = self._supply(at)
            supply.quality, supply.why = verdict
            yield _of_signal("supply-signal", supply, verdict)

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
        if any(alarm == "pump-starved" for alarm, _ in self._held):
            self._starved_at = at
        if rate is None or at - self._starved_at < STARVED_MEMORY_S:
            return NOTHING_ODD  # a starved pump holds the level up: that is no water from past the meter
        if rate < 0.0:
            return Odd("leak" if flow < 0.5 or -rate > WITH_THE_FLOW * flow else "meter", rate)
        if flow < 0.5 and rate < CREEP_L_MIN and self.odd.what != "meter":  # what it was, it stays until it fits again
            return Odd("creeping", rate) if rate > TRICKLE_L_MIN else NOTHING_ODD
        return Odd("meter", rate)

    def _at_the_brim(self) -> bool:
        """What runs over is lost too, and the level can't rise: that is `overfill`'s to say."""
        belief = self.balance.belief
        return belief is not None and belief.volume_l + belief.volume_sd_l > self.marks.capacity

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
            r = self.redundancy.over(window_s, self._noise_l())
            if r is not None and r.idle and abs(r.off_l) > max(6.0 * r.sd_l, 4.0, MATTERS_L_MIN * window_s / 60.0):
                self.balance.unaccounted.seen(60.0 * r.off_l / window_s)
        return self.balance.unaccounted.rate_l_min()

    def _nodes(self, at: float) -> Iterator[tuple[Key, Condition]]:
        named = {signal.node for signal in self.intake.signals.values()}
        for name, node in self.intake.nodes.items():
            if name not in named or (node.alive.heard_s is None and not node.gone):
                continue
            why = "gone" if node.gone else "silent" if node.alive.silent(at - GRACE_S) else ""
            if not why and node.recent_reboots(at) >= REBOOTS:
                why = "reboots"
            values = {"why": why, "age_s": node.alive.age_s(at)} if why else None
            yield ("node-lost", name), Condition(bool(why), values, why, node=name)

    def _pumps(self, at: float) -> Iterator[tuple[Key, Condition]]:
        residual = self.redundancy.over(STARVED_S, self._noise_l()) if self.level_usable() else None
        for pump, settings in zip(self.balance.pumps, self.rig.pumps, strict=True):
            yield ("pump-starved", pump.name), self._starved(at, pump, residual)
            hot = pump.bypass_s > settings.bypass.time_s
            yield ("bypass-hot", pump.name), Condition(hot, {"bypass_s": pump.bypass_s} if hot else None)
            yield from self._draw(pump)

    def _starved(self, at: float, pump: PumpWatch, residual: Residual | None) -> Condition:
        suction = self.intake.surroundings.get("suction", pump.name)
        if suction is not None and suction < VACUUM_PA and pump.running is not False:
            return Condition(True, {"suction_pa": suction}, "suction")
        if pump.drawing is not True:
            return Condition(None if pump.drawing is None else False)
        for k, level in enumerate(self.intake.levels):
            if level.sense.run_s(at) > 8.0 and self._drawn[k] > self._clear_l():
                return Condition(True, {"drawn_l": self._drawn[k]}, "level repeats")
        if residual is None or residual.drawn_l < max(6.0, 6.0 * residual.sd_l):
            return Condition(self._stood("pump-starved", pump.name) and residual is None)
        unmetered_l = max(0.0, self.odd.l_min) * STARVED_S / 60.0  # a dead meter's water holds the level up as well
        stands = residual.off_l - unmetered_l > STARVED_SHARE * residual.drawn_l
        return Condition(stands, {"drawn_l": residual.drawn_l, "fell_l": residual.fell_l}, "level trembles")

    def _draw(self, pump: PumpWatch) -> Iterator[tuple[Key, Condition]]:
        """A pump against its own record: what it took when its rate was first well known, followed slowly since."""
        belief = self.balance.belief
        low = high = False
        values = None
        if belief is not None and pump.drawing is not None:
            i = self.balance.pumps.index(pump)
            rate, sd = belief.rates_l_min[i], belief.rates_sd_l_min[i]
            record = self.records.get(pump.name)
            if sd < 0.04 * rate and pump.drawing:
                self.records[pump.name] = rate if record is None else record + (rate - record) / 28_800.0
            low, high = rules.draw_low(rate, sd, record), rules.draw_high(rate, sd, record)
            values = {"rate_l_min": rate, "record_l_min": record}
        yield ("draw-low", pump.name), Condition(low, values if low else None)
        yield ("draw-high", pump.name), Condition(high, values if high else None)

    def _supply_side(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        yield ("supply-lost", ""), self._supply_lost(at, s)
        yield ("leak", ""), self._leak(at)

    def _supply_lost(self, at: float, s: Situation) -> Condition:
        """It flowed here, the float valve stands open, and now it does not."""
        signal = self._supply_signal()
        if signal is None or s.volume_l is None:
            return Condition(False)
        if self.supply_silent():
            return Condition(None)
        tap = self.balance.tap.l_min
        flows = s.metered_l_min > 0.25 * (tap or 1e9)
        self._flowed_s = self._flowed_s + 1.0 if flows else self._flowed_s
        expected = tap is not None and self._flowed_s >= FLOW_KNOWN_S and s.volume_l < self.outlook.throttle_l
        wanted = any(p.in_use(at) for p in self.balance.pumps) or s.volume_l < s.marks.band_low
        lost = expected and wanted and s.metered_l_min < 0.15 * (tap or 0.0)
        return Condition(lost, {"flow_l_min": s.metered_l_min, "tap_l_min": tap} if lost else None, node=signal.node)

    def forget_place(self) -> None:
        """A new place has a new tap: nothing is expected of it yet."""
        self._flowed_s = 0.0

    def _leak(self, at: float) -> Condition:
        if not self.level_usable():
            return Condition(None if self._stood("leak") else False)
        idle = self.balance.belief is not None and all(p < 0.5 for p in self.balance.belief.drawing)
        if self.odd.what != "leak" or not idle:
            return Condition(None if self.odd.what == "leak" else False)
        return Condition(True, {"leak_l_min": -self.odd.l_min})

    def _others(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        moving = bool(self.intake.moving)
        heavy = rules.tow_heavy(s, self._stood("tow-heavy"), moving, self.packing_up)
        yield ("tow-heavy", ""), Condition(
            heavy, {"volume_l": s.volume_l} if heavy else None, "moving" if moving else "packing up"
        )
        for signal in self.intake.signals.values():
            if signal.kind in ("water_temperature", "air_temperature"):
                value = None if self.intake.lost(at, signal) else self.intake.surroundings.get(signal.kind)
                stood = self._stood("freeze", signal.name)
                cold = rules.freeze([] if value is None else [value], stood)
                variant = signal.kind.removesuffix("_temperature")
                yield ("freeze", signal.name), Condition(cold, {"c": value} if cold else None, variant, signal.node)
        if self.journal_ok is not None:
            yield ("journal", ""), Condition(not self.journal_ok)

    def modes(self, at: float) -> frozenset[Mode]:
        belief = self.balance.belief
        on: dict[Mode, bool] = {
            "towing": bool(self.intake.moving),
            "packing up": self.packing_up,
            "float valve shut": belief is not None and belief.volume_l > self.outlook.throttle_l,
            "dumping": at < self.dumping_until,
            "filling past the meter": at < self.filling_until,
            "laid up": self.laid_up,
        }
        return frozenset(mode for mode, holds in on.items() if holds)


def _of_signal(alarm: str, signal: Signal, verdict: Verdict) -> tuple[Key, Condition]:
    holds = None if verdict.reason == "never heard" else bool(verdict.reason)
    key: Key = (alarm, signal.name)  # type: ignore[assignment]
    return key, Condition(holds, {"why": verdict.reason} if holds else None, verdict.reason, signal.node)

