"""Judges the situation once a second, and puts each alarm's condition before the board."""

import math
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, nullcontext
from typing import TypeAlias

from monitor.alarms import rules
from monitor.alarms.board import Condition, Key
from monitor.alarms.catalogue import AlarmName, Mode
from monitor.alarms.rules import REBOOTS, Situation
from monitor.balance.balance import Balance
from monitor.balance.pumps import PumpWatch
from monitor.balance.redundancy import Redundancy, Residual
from monitor.balance.trust import GOOD, Verdict
from monitor.core.intake import Intake
from monitor.core.nodes import Node
from monitor.core.outlook import Outlook
from monitor.core.signals import Signal
from monitor.core.verdicts import Verdicts
from monitor.rig.model import Rig

LOW_SHARE = 1.2816  # standard normal, 10 %
GRACE_S = 2.0  # a node silent just past its limit may be a few lost packs
RAW_S = 20.0
RAW_HOLD_S = 8.0
RAW_DRY_S = 20.0
VACUUM_PA = -27_000.0  # gauge; more vacuum than about 8 inHg at the inlet: common practice, no published source
STARVED_SHARE, STARVED_MOST, STARVED_S = 0.7, 1.4, 30.0
FLOW_KNOWN_S = 60.0
IDLE_SHARE, IDLE_SD = 0.12, 0.06  # of what a pump would take: less, known so well, is none
STOPPED_SHARE = 0.2  # of what the tap has given
NEVER_S = 30.0  # by then whatever has power has been heard once
LOST_PA = -60_000.0  # gauge: nothing comes through any more, the water boils off; common practice, no published source

Held: TypeAlias = Callable[[str], AbstractContextManager[None]]
"""What is raised inside a part of that name may be held there."""


def unheld(_part: str) -> AbstractContextManager[None]:
    """Nothing is held: in a replay or a test a fault of the program ends it."""
    return nullcontext()


class Judge:
    """Reads the other parts, changes none of them; owns only what has to be remembered between two seconds."""

    def __init__(
        self, rig: Rig, intake: Intake, balance: Balance, redundancy: Redundancy, outlook: Outlook, verdicts: Verdicts,
        part: Held = unheld,
    ) -> None:  # fmt: skip
        """`part`: no rule's fault silences another."""
        self._part = part
        self.rig, self.intake, self.balance = rig, intake, balance
        self.redundancy, self.outlook, self.verdicts = redundancy, outlook, verdicts
        self.marks = outlook.marks
        self.records: dict[str, float] = {}
        self._suctions = {pump.name: pump.suction for pump in rig.pumps if pump.suction}
        self.packing_up = self.laid_up = False
        self.journal_ok: bool | None = None
        self.water_is_low = False
        self._held: set[Key] = set()
        self._begun_at: float | None = None
        self._raw_since: float | None = None
        self._raw_dry_since = math.inf
        self._flowed_s = 0.0

    @property
    def level(self) -> Verdict:
        return self.verdicts.level

    @property
    def supply(self) -> Verdict:
        return self.verdicts.supply

    # -- the situation ----------------------------------------------------------------------------------------

    def situation(self, at: float) -> Situation:
        belief = self.balance.belief
        in_use = self._in_use(at)
        meter = self.intake.meter
        known = self._unseen(at) if belief is None else {
            "volume_l": belief.volume_l,
            "low_l": belief.volume_l - LOW_SHARE * belief.volume_sd_l - self.balance.blind_l,
            "inflow_l_min": self.outlook.inflow_l_min(belief) or 0.0,
            "leak_l_min": self.outlook.leak_l_min(belief),
        }  # fmt: skip
        return Situation(
            self.marks,
            self.rig.warn.act_time_s,
            raw_l=self._raw_l(at),
            metered_l_min=meter.inflow.l_min if meter else 0.0,
            flat_out_l_min=sum(rate for _, rate, _ in in_use),
            nominal_l_min=sum(nominal for _, _, nominal in in_use),
            **known,
        )

    def _unseen(self, at: float) -> dict[str, float]:
        """No level that can be used has come and nobody has said where the water stands: no water is counted on."""
        return {"low_l": 0.0} if self._overdue(at) else {}

    def _in_use(self, at: float) -> list[tuple[str, float, float]]:
        """And every pump that has no signal of its own and may be, for all that could be seen of it: a daemon that has
        just begun, or a level that is lost, puts no pump out of use. Before any level only a signal puts one in use."""
        if self.balance.belief is None:
            return self.outlook.in_use(at)
        unwatched = {p.name for p in self.rig.pumps if p.running is None and p.drawing is None}
        return self.outlook.in_use(at, {p.name for p in self.balance.pumps if p.unrested} & unwatched)

    def _looked_at(self, at: float, sound: bool) -> Situation:
        if sound:
            with self._part("alarms, their situation"):
                return self.situation(at)
        return self._raw_situation(at)

    def _raw_situation(self, at: float) -> Situation:
        """By raw level, meter and rig file alone, every pump at work: what is left when all else has a fault."""
        meter = self.intake.meter
        return Situation(
            self.marks, self.rig.warn.act_time_s, raw_l=self._raw_l(at),
            metered_l_min=meter.inflow.l_min if meter else 0.0,
            nominal_l_min=sum(pump.draw_l_min for pump in self.rig.pumps),
        )  # fmt: skip

    def _raw_l(self, at: float) -> float | None:
        level = self.intake.levels[0]
        height = level.sense.typical(at, RAW_S)
        return None if height is None else self.balance.tank.volume_l(max(0.0, height))

    # -- the conditions ---------------------------------------------------------------------------------------

    def conditions(self, at: float, sound: bool = True) -> dict[Key, Condition]:
        """`sound`: the balance has done its work for this second; else the raw level alone is judged by."""
        self._begun_at = at if self._begun_at is None else self._begun_at
        s = self._looked_at(at, sound)
        self.water_is_low = s.low_l is not None and s.low_l < max(s.marks.band_low, s.marks.heel * 1.3)
        said: dict[Key, Condition] = {}
        for of, judged in (
            ("dry-soon", self._soon), ("dry", self._empty), ("water", self._water), ("signals", self._signals),
            ("nodes", self._nodes), ("pumps", self._pumps), ("supply", self._supply_side), ("others", self._others),
        ):  # fmt: skip
            with self._part(f"alarms, {of}"):
                said.update(judged(at, s))
        self._held = {key for key, condition in said.items() if condition.holds}
        if any(alarm == "pump-starved" for alarm, _ in self._held):
            self.verdicts.pump_starved(at)
        return said

    def _stood(self, alarm: str, subject: str = "") -> bool:
        return (alarm, subject) in self._held

    def _soon(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        variant = "no level" if s.volume_l is None and s.low_l is not None else ""
        yield ("dry-soon", ""), Condition(self._dry_soon(at, s), _values(s), variant, time_s=_shown_s(s))

    def _empty(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        yield ("dry", ""), Condition(self._dry(at, s), _values(s), "heel")

    def _water(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        stood = self._stood
        yield ("water-low", ""), Condition(rules.water_low(s, stood("water-low")), _values(s), time_s=_shown_s(s))
        yield ("overfill", ""), Condition(rules.overfill(s, stood("overfill")), _values(s))

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

    def _signals(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        for level in self.intake.levels:
            signal = self.intake.signals[level.settings.reading]
            verdict = Verdict(signal.quality or "uncertain", signal.why)  # type: ignore[arg-type]
            yield self._signal("level-signal", signal, verdict, at)
        supply = self.verdicts.supply_signal()
        if supply is not None:
            yield self._signal("supply-signal", supply, self.supply, at)

    def _signal(self, alarm: AlarmName, signal: Signal, verdict: Verdict, at: float) -> tuple[Key, Condition]:
        unknown = verdict.reason == "never heard" and not self._overdue(at)
        holds = None if unknown else bool(verdict.reason)
        values = {"why": verdict.reason} if holds else None
        return (alarm, signal.name), Condition(holds, values, verdict.reason, signal.node)

    def _overdue(self, at: float) -> bool:
        """What has not been heard once since the start won't come by itself: somebody has to look."""
        return self._begun_at is not None and at - self._begun_at >= NEVER_S

    def _nodes(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        named = {signal.node for signal in self.intake.signals.values()}
        for name, node in self.intake.nodes.items():
            why = _why_lost(node, at)
            if name not in named or (why == "never heard" and not self._overdue(at)):
                continue
            values = {"why": why, "age_s": node.alive.age_s(at)} if why else None
            yield ("node-lost", name), Condition(bool(why), values, why, node=name)

    def _pumps(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        residual = self.redundancy.over(STARVED_S, self.verdicts.noise_l()) if self.verdicts.level_usable() else None
        for pump, settings in zip(self.balance.pumps, self.rig.pumps, strict=True):
            yield ("pump-starved", pump.name), self._starved(at, pump, residual)
            yield from self._suction_lost(at, pump)
            yield ("bypass-hot", pump.name), self._hot(at, pump, settings.bypass.time_s)
            yield from self._draw(pump)

    def _hot(self, at: float, pump: PumpWatch, bears_s: float) -> Condition:
        """By its own signals, or by the balance where none says whether it draws: its engine has run so long, and next
        to no water has left the tank."""
        if pump.drawing is None and self._water_uncounted():
            return Condition(None if self._stood("bypass-hot", pump.name) else False)
        idles_s = pump.bypass_s
        if idles_s <= bears_s and self._takes_nothing(at, pump, bears_s):
            idles_s = at - (pump.running_since or at)
        hot = idles_s > bears_s
        return Condition(hot, {"bypass_s": idles_s} if hot else None)

    def _water_uncounted(self) -> bool:
        """A dead meter's water holds the level up: it tells of no pump that it takes nothing."""
        return self.intake.meter is not None and (self.supply.quality != "good" or self.verdicts.stop_unproven)

    def _takes_nothing(self, at: float, pump: PumpWatch, for_s: float) -> bool:
        since = pump.running_since
        if pump.drawing is not None or not pump.running or since is None or at - since <= for_s:
            return False
        if not self.verdicts.level_usable() or self.intake.moving:
            return False
        seen = self.redundancy.over(for_s, self.verdicts.noise_l())
        could_l = pump.nominal_l_min * for_s / 60.0
        if seen is None or seen.sd_l > IDLE_SD * could_l:
            return False
        return seen.fell_l + seen.metered_l + seen.sd_l < IDLE_SHARE * could_l

    def _starved(self, at: float, pump: PumpWatch, residual: Residual | None) -> Condition:
        suction_pa = self._suction_pa(at, pump)
        if suction_pa is not None and suction_pa < VACUUM_PA and pump.running is not False:
            return Condition(True, {"suction_pa": suction_pa}, "suction")
        if pump.drawing is not True:
            return Condition(None if pump.drawing is None else False)
        for k, level in enumerate(self.intake.levels):
            if self.intake.lost(at, self.intake.signals[level.settings.reading]):
                continue  # a level that is silent repeats nothing
            drawn_l = self.verdicts.drawn_since_change_l(k)
            if level.sense.run_s(at) > 8.0 and drawn_l > self.verdicts.clear_l():
                return Condition(True, {"drawn_l": drawn_l}, "level repeats")
        if self.verdicts.stands_still:
            return Condition(True, {"drawn_l": residual.drawn_l if residual else None}, "level trembles")
        if residual is None or residual.drawn_l < max(6.0, 6.0 * residual.sd_l):
            return Condition(self._stood("pump-starved", pump.name) and residual is None)
        # a dead meter's water holds the level up as well
        unmetered_l = self.verdicts.uncounted_l_min * STARVED_S / 60.0
        held_l = residual.off_l - unmetered_l
        most_l = STARVED_MOST * residual.drawn_l + 3.0 * residual.sd_l  # more is no pump's doing: an echo, a refill
        stands = STARVED_SHARE * residual.drawn_l < held_l < most_l
        return Condition(stands, {"drawn_l": residual.drawn_l, "fell_l": residual.fell_l}, "level trembles")

    def _suction_lost(self, at: float, pump: PumpWatch) -> Iterator[tuple[Key, Condition]]:
        """A pump that runs with its suction lost is dry, whatever the tank holds."""
        if pump.name not in self._suctions:
            return
        suction_pa = self._suction_pa(at, pump)
        if suction_pa is None:
            yield ("dry", pump.name), Condition(None)
            return
        lost = suction_pa < LOST_PA and pump.running is not False
        yield ("dry", pump.name), Condition(lost, {"suction_pa": suction_pa} if lost else None, "suction")

    def _suction_pa(self, at: float, pump: PumpWatch) -> float | None:
        """The suction pressure of now: what a silent signal said last proves nothing."""
        reading = self._suctions.get(pump.name)
        if reading is None or self.intake.lost(at, self.intake.signals[reading]):
            return None
        return self.intake.surroundings.get("suction", pump.name)

    def _draw(self, pump: PumpWatch) -> Iterator[tuple[Key, Condition]]:
        """A pump against its own record: what it took when its rate was first well known, followed slowly since."""
        belief = self.balance.belief
        low = high = False
        values = None
        if self.level != GOOD or self.supply.reason or self.verdicts.at_the_brim():  # nothing to reckon it from
            yield ("draw-low", pump.name), Condition(None)
            yield ("draw-high", pump.name), Condition(None)
            return
        if belief is not None and pump.drawing is not None:
            i = self.balance.pumps.index(pump)
            rate, sd = belief.rates_l_min[i], belief.rates_sd_l_min[i]
            record = self.records.get(pump.name)
            if sd < 0.04 * rate and pump.drawing:
                self.records[pump.name] = rate if record is None else record + (rate - record) / 28_800.0
            low = rules.draw_low(rate, sd, record)
            high = rules.draw_high(rate, sd, record, pump.nominal_l_min)
            values = {"rate_l_min": rate, "record_l_min": record}
        yield ("draw-low", pump.name), Condition(low, values if low else None)
        yield ("draw-high", pump.name), Condition(high, values if high else None)

    def _supply_side(self, at: float, s: Situation) -> Iterator[tuple[Key, Condition]]:
        yield ("supply-lost", ""), self._supply_lost(at, s)
        yield ("leak", ""), self._leak(at)

    def _supply_lost(self, at: float, s: Situation) -> Condition:
        """It flowed here, the float valve stands open, and now it does not."""
        signal = self.verdicts.supply_signal()
        if signal is None or s.volume_l is None:
            return Condition(False)
        if self.verdicts.supply_silent():
            return Condition(None)
        tap = self.balance.tap.l_min
        flows = s.metered_l_min > 0.25 * (tap or 1e9)
        self._flowed_s = self._flowed_s + 1.0 if flows else self._flowed_s
        expected = tap is not None and self._flowed_s >= FLOW_KNOWN_S and s.volume_l < self.outlook.throttle_l
        wanted = any(p.in_use(at) for p in self.balance.pumps) or s.volume_l < self.rig.tank.band_l[1]
        stopped = self.verdicts.stopped
        lost = expected and wanted and (stopped == "water" or s.metered_l_min < STOPPED_SHARE * (tap or 0.0))
        if lost and stopped in ("", "meter"):  # not yet clear, or it is the meter that stopped
            return Condition(False, node=signal.node)
        return Condition(lost, {"flow_l_min": s.metered_l_min, "tap_l_min": tap} if lost else None, node=signal.node)

    def forget_place(self) -> None:
        """A new place has a new tap: nothing is expected of it yet."""
        self._flowed_s = 0.0

    def _leak(self, at: float) -> Condition:
        if not self.verdicts.level_usable():
            return Condition(None if self._stood("leak") else False)
        idle = self.balance.belief is not None and all(p < 0.5 for p in self.balance.belief.drawing)
        if self.verdicts.odd.what != "leak" or not (idle or self.verdicts.odd.burst):
            return Condition(None if self.verdicts.odd.what == "leak" else False)
        return Condition(True, {"leak_l_min": -self.verdicts.odd.l_min})

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
        if any(pump.running or pump.drawing for pump in self.balance.pumps):
            self.laid_up = False  # somebody works with it, whatever was touched last
        on: dict[Mode, bool] = {
            "towing": bool(self.intake.moving),
            "packing up": self.packing_up,
            "float valve shut": belief is not None and belief.volume_l > self.outlook.throttle_l,
            "dumping": at < self.verdicts.dumping_until,
            "filling past the meter": at < self.verdicts.filling_until,
            "laid up": self.laid_up,
        }
        return frozenset(mode for mode, holds in on.items() if holds)


def _why_lost(node: Node, at: float) -> str:
    """Empty where it is not."""
    if node.gone:
        return "gone"
    if node.alive.heard_s is None:
        return "never heard"
    if node.alive.silent(at - GRACE_S):
        return "silent"
    return "reboots" if node.recent_reboots(at) >= REBOOTS else ""


def _values(s: Situation) -> dict[str, float | None]:
    return {
        "volume_l": s.volume_l, "low_l": s.low_l, "raw_l": s.raw_l, "inflow_l_min": s.inflow_l_min,
        "flat_out_l_min": s.flat_out_l_min,
    }  # fmt: skip


def _shown_s(s: Situation) -> float | None:
    """The usable time, where it has an end."""
    if s.low_l is None or s.volume_l is None:
        return None
    time_s = rules.usable_time_s(s.low_l, s)
    return time_s if math.isfinite(time_s) else None
