"""The core: ticked once a second of its own time, stepped by every arrival.

Ticks fall on whole seconds whatever the arrivals do, so that a recording of the arrivals replays to the same forecasts
and alarms. Silence is information: time alone moves the core on.
"""

import math
from contextlib import AbstractContextManager
from typing import Any

from monitor.alarms.board import Board
from monitor.alarms.refusals import Refused
from monitor.balance.accounts import Accounts
from monitor.balance.balance import Balance, TankTable, level_spreads
from monitor.balance.diagnosis import Diagnosis
from monitor.balance.filter import Belief
from monitor.balance.level import Seen
from monitor.balance.pumps import PumpWatch
from monitor.balance.redundancy import Redundancy
from monitor.changes import Change, Forecast
from monitor.core.acts import Acts
from monitor.core.calibrated import calibrated
from monitor.core.calibrating import Calibrating
from monitor.core.hours import Hours
from monitor.core.intake import Intake
from monitor.core.jobs import Jobs
from monitor.core.judge import Held, Judge, unheld
from monitor.core.outlook import Outlook
from monitor.core.resume import Resume
from monitor.core.season import Season
from monitor.core.servicing import Servicing
from monitor.core.soaping import Soaping
from monitor.core.tally import Tally
from monitor.core.verdicts import Verdicts
from monitor.forecast.habits import CrewHabit
from monitor.readings import Act, Alive, Event, Pack, Reject, WallStep
from monitor.rig.model import Rig

SAVED_AS = 1  # the version of what `save` gives: one more whenever an older program could not read it
TICK_S = 1.0
FORECAST_S = 10.0
LEAP_S = 3600.0  # a leap in the daemon's own time is passed over in one step: nobody ticks through a night at once
CLEARLY = 0.9  # a pump without a signal is counted as drawing, against level and meter, when it is this likely
PAST_KEPT = 24 * 360
SETTLED_S = 4.0
SLOSH_S = 20.0  # a lightly damped first mode at half a hertz and more has swung itself out by then


class Core:
    """What is known of one rig. `saved`: what an earlier core learned (see `save`).
    `held` keeps a fault of the program in the part where it happens: the other parts, and the other alarms, go on."""

    def __init__(self, rig: Rig, saved: dict[str, Any] | None = None, held: Held = unheld) -> None:
        self.held, self.sound = held, True
        kept = list((saved or {}).get("calibrations", []))
        self.file_rig, self.rig = rig, (rig := calibrated(rig, kept))
        self.now: float | None = None
        self.pumps = tuple(PumpWatch(p.name, p.draw_l_min) for p in rig.pumps)
        self.intake = Intake(rig, self.pumps)
        table = rig.tank.strapping
        mean_slope = table.capacity_l / table.top_m
        tank = TankTable(
            table.volume_l, table.height_m, lambda h: max(table.slope_l_per_m(h), 0.15 * mean_slope),
            rig.tank.capacity_l, table.top_m,
        )  # fmt: skip
        spreads = level_spreads(len(rig.tank.levels))
        self.balance = Balance(tank, self.pumps, self.intake.meter is not None, spreads, rig.tank.heel_l)
        self.redundancy = Redundancy()
        self.crew = CrewHabit(len(self.pumps))
        self.outlook = Outlook(rig, self.intake, self.balance, self.crew)
        self.diagnosis = Diagnosis(Accounts(), self.redundancy)
        self.verdicts = Verdicts(self.intake, self.balance, self.diagnosis, self.outlook)
        self.judge = Judge(
            rig, self.intake, self.balance, self.redundancy, self.outlook, self.verdicts, self._part
        )
        self.board = Board(rig.about.language)
        self.calibrating = Calibrating(self.file_rig, rig, self.intake, kept)
        self.jobs, self.hours = Jobs(), Hours(rig.about.timezone)
        self.servicing = Servicing(rig.services, self.hours)
        self.soaping, self.tally, self.season = Soaping(rig.pumps), Tally(), Season()
        self.acts = Acts(
            self.balance, self.intake, self.judge, self.calibrating, self.jobs, self.servicing, self.soaping,
            lambda: self.board, self.wall,
        )
        self.forecast: Forecast | None = None
        self.past: list[tuple[float, float | None, float | None]] = []
        self.rejects: dict[str, int] = {}
        self.latest_rejects: list[Reject] = []
        self.wall_offset_s = 0.0
        self._moved = self._resumes = False
        self.resume = Resume(self.pumps, self.balance, self.verdicts)
        self.rig_part: dict[str, Any] | None = None
        self.revision = 0
        self.decided: tuple[int, dict[str, Any]] | None = None
        """What `standing` has put together of the rig, and as of which revision of what was decided."""
        if saved:
            self.restore(saved)

    # -- time and arrivals ------------------------------------------------------------------------------------

    def take(self, event: Event) -> list[Change]:
        """One arrival. First all whole seconds up to it are ticked, then it is taken in."""
        changes = self.advance(event.at)
        if isinstance(event, Pack):
            self.intake.pack(event)
        elif isinstance(event, Alive):
            self.intake.alive(event)
        elif isinstance(event, Reject):
            self._count_reject(event)
        elif isinstance(event, Act):
            changes += self._act(event)
            self.revision += 1
        elif isinstance(event, WallStep):
            self.wall_offset_s = event.wall - event.at
            self.revision += 1
        return changes

    def _act(self, act: Act) -> list[Change]:
        """In a recording even a refused act stands; live, the pages ask `may` first."""
        if act.act == "calibrate":
            if self.calibrating.take(act):
                recalibrate(self)
            return []
        try:
            changes = self.acts.take(act)
            self.jobs.hear(changes)
            return changes
        except (Refused, KeyError, ValueError):
            return []

    def wall(self, at: float) -> float:
        """Wall time as far as it is known, Unix seconds."""
        return at + self.wall_offset_s

    def advance(self, to: float) -> list[Change]:
        """Tick every whole second up to `to`."""
        changes: list[Change] = []
        if self.now is None or to - self.now > LEAP_S:
            self._begin(math.floor(to))
            return changes
        while self.now + TICK_S <= to:
            self.now += TICK_S
            changes += self._tick(self.now)
        return changes

    def _begin(self, at: float) -> None:
        """Begin to tick, or go on after hours that nobody watched: whatever stood in the tank, the level leads."""
        self.now = at
        self.resume.begins(at, self.wall(at))
        if self.balance.filter is not None:
            self.balance.filter.doubt_volume(self.rig.tank.capacity_l)
        self.redundancy.forget()

    def _tick(self, at: float) -> list[Change]:
        self.revision += 1
        self.sound = True
        self.intake.forget_silent(at)
        counted = self.tally.due(at, self.wall(at))
        with self._part("balance"):
            self._watch_motion(at)
            self.verdicts.look(at)
            self._balance(at)
        changes: list[Change] = [*counted, *self._resume(at)]
        changes += self.board.update(at, self.judge.conditions(at, self.sound), self.judge.modes(at))
        self.jobs.hear(changes)
        self.servicing.feel(self.wall(at), self.intake.surroundings.get("air_temperature"))
        if at % FORECAST_S == 0.0:
            with self._part("forecast"):
                self.forecast = self.outlook.look(at, self.judge.level.quality, self.judge.supply.quality)
                self._keep_past(at)
                changes.append(self.forecast)
        return changes

    def _part(self, name: str) -> "Part":
        """A part of a second's work; `sound` says until the next second whether every part went well."""
        return Part(self, self.held(name))

    def _resume(self, at: float) -> list[Change]:
        """Once after a restart: what stood before goes on standing."""
        if not self._resumes:
            return []
        self._resumes = False
        return [*self.board.resume(at)]

    def _watch_motion(self, at: float) -> None:
        if self._moved and self.intake.moving is False:
            self.balance.move(at)
            self.redundancy.forget()
            self.diagnosis.accounts.drop()
            self.judge.forget_place()
        self._moved = bool(self.intake.moving)

    def _sloshes(self, at: float) -> bool:
        """Just after a move the water still swings: no level tells of the volume."""
        moved_at = self.balance.moved_at
        return moved_at is not None and at - moved_at < SLOSH_S

    def _balance(self, at: float) -> None:
        seen = self._seen()
        self.calibrating.tick(at, seen)
        usable = self.verdicts.level_usable() and not self.intake.moving and not self._sloshes(at)
        meter = self.intake.meter
        metered_l = unseen_l = 0.0
        if meter is not None:
            silent = self.verdicts.supply_silent()
            metered_l, unseen_l = meter.tick(at, TICK_S, silent, usable)
        balance = self.balance
        balance.towing = bool(self.intake.moving)
        self.soaping.tell(self.pumps)
        balance.tick(at, TICK_S, seen if usable else None, metered_l, unseen_l * unseen_l)
        belief = balance.belief
        if belief is None:
            return
        drawn_l = self._likely_drawn(belief)
        idle = all(p < CLEARLY for p in belief.drawing)
        seen_l = balance.tank.volume_l(seen.height_m) if seen is not None and usable else None
        rests = all(self._rests(at, pump) for pump in self.pumps) and not self.intake.moving
        self.redundancy.add(at, seen_l, metered_l, drawn_l, idle, self._most_drawn(at, belief), rests)
        believed_l = seen_l if balance.parting.since is None else None
        self.diagnosis.accounts.add(at, believed_l, metered_l, self.verdicts.noise_l() ** 2, rests)
        self.verdicts.watch_steps(at, seen.height_m if seen_l is not None and seen is not None else None, metered_l)
        self.verdicts.note_moved(at, metered_l, self._surely_drawn(belief), rests)
        if balance.parting.anew_at == at and not self.verdicts.slid(at, self.redundancy.slides()):
            self.redundancy.forget()
            self.diagnosis.accounts.drop()
        shut = self.outlook.shut_by_hand(belief) and not self.verdicts.supply_silent()
        self.crew.note(at, tuple(p > 0.5 for p in belief.drawing), self.judge.water_is_low, shut)
        if meter is not None and not self.intake.moving:
            self._learn_tap(at, meter.inflow.l_min, belief.volume_l)
        self._keep_books(at, belief, seen_l, metered_l)

    def _learn_tap(self, at: float, flow_l_min: float, volume_l: float) -> None:
        if self.outlook.learn_tap(at, flow_l_min, volume_l):
            self.jobs.note_tap(self.wall(at), flow_l_min, TICK_S)

    def _keep_books(self, at: float, belief: Belief, seen_l: float | None, metered_l: float) -> None:
        """What the second came to, for the job, the day, the hours, the season, and the chemical line."""
        shares, drawn_l = self._probably_draw(belief), self._probably_drawn(belief)
        chemical_l = self.soaping.tick(TICK_S, shares, drawn_l)
        self.soaping.watch(TICK_S, seen_l, metered_l, shares, self.judge.records)
        self.hours.tick(self.wall(at), TICK_S, self.pumps, belief.drawing)
        soaps, heads_pa = self.soaping.soaps(), self.intake.pressures_pa(at)
        self.season.tick(self.wall(at), TICK_S, self.pumps, belief, soaps, heads_pa)
        self.jobs.tick(TICK_S, metered_l, drawn_l, chemical_l)
        self.tally.tick(self.wall(at), TICK_S, metered_l, drawn_l, chemical_l)

    def _seen(self) -> Seen | None:
        """The level of this second: the mean of the sound sensors that spoke (with two, tilt falls out)."""
        seconds = [(self.intake.signals[level.settings.reading], level.sense.second()) for level in self.intake.levels]
        spoke = [s for signal, s in seconds if s is not None and signal.quality != "bad"]
        if not spoke:
            return None
        return Seen(sum(s.height_m for s in spoke) / len(spoke), sum(s.readings for s in spoke))

    def _probably_drawn(self, belief: Belief) -> dict[str, float]:
        """Litres each pump drew in this second: by signal where there is one, else by how likely it draws."""
        rates = dict(zip([pump.name for pump in self.pumps], belief.now_l_min, strict=True))
        return {name: share * rates[name] * TICK_S / 60.0 for name, share in self._probably_draw(belief).items()}

    def _probably_draw(self, belief: Belief) -> dict[str, float]:
        """The share of this second that each pump drew."""
        each = zip(self.pumps, self.balance.shares, belief.drawing, strict=True)
        return {pump.name: p if share is None else share for pump, share, p in each}

    def _likely_drawn(self, belief: Belief) -> float:
        """Litres drawn in this second: by signal where there is one, else by pumps that clearly draw."""
        shares = self.balance.shares
        likely = zip(shares, belief.drawing, strict=True)
        draws = [share if share is not None else float(p > CLEARLY) for share, p in likely]
        return sum(d * r for d, r in zip(draws, belief.now_l_min, strict=True)) * TICK_S / 60.0

    def _most_drawn(self, at: float, belief: Belief) -> float:
        """Litres that pumps may have drawn in this second: all of them flat out but those that surely rest."""
        rates = zip(self.pumps, belief.rates_l_min, strict=True)
        return sum(max(rate, p.nominal_l_min) for p, rate in rates if not self._rests(at, p)) * TICK_S / 60.0

    @staticmethod
    def _rests(at: float, pump: PumpWatch) -> bool:
        """Its own signals have said for some seconds that it does not draw."""
        return pump.surely_off and at - (pump.state_since or at) > SETTLED_S

    def _surely_drawn(self, belief: Belief) -> float:
        """Litres that pumps drew in this second by their own signals, not by the level."""
        shares, rates = self.balance.shares, belief.now_l_min
        return sum((s or 0.0) * r for s, r in zip(shares, rates, strict=True)) * TICK_S / 60.0

    # -- what is kept for the pages ---------------------------------------------------------------------------

    def _keep_past(self, at: float) -> None:
        belief = self.balance.belief
        point = (at, None, None) if belief is None else (at, belief.volume_l, belief.volume_sd_l)
        self.past.append(point)
        if len(self.past) > PAST_KEPT:
            del self.past[:360]

    def _count_reject(self, reject: Reject) -> None:
        self.revision += 1
        self.rejects[reject.kind] = self.rejects.get(reject.kind, 0) + 1
        self.latest_rejects.append(reject)
        del self.latest_rejects[:-20]

    # -- what survives a restart ------------------------------------------------------------------------------

    def save(self) -> dict[str, Any]:
        """What was learned, as plain values for a state file."""
        belief, meter = self.balance.belief, self.intake.meter
        return {
            "version": SAVED_AS,
            "at": self.now,
            **self.resume.save(self.now, self.wall(self.now or 0.0), belief),
            "rates_l_min": self._learned_rates(belief),
            "soaping_l_min": self.balance.soaping_rates(),
            "records_l_min": self.judge.records,
            "laid_up": self.judge.laid_up,
            "total": None if meter is None else meter.totals.save(),
            "tap_l_min": self.balance.tap.l_min,
            "level_noise_m2": self.balance.noise.var_m2,
            "crew": self.crew.save(),
            "alarms": self.board.save(),
            "calibrations": self.calibrating.kept,
            "jobs": self.jobs.save(),
            "hours": self.hours.save(),
            "services": self.servicing.save(),
            "soaping": self.soaping.save(),
            "tally": self.tally.open,
            "season": self.season.save(),
        }  # fmt: skip

    def _learned_rates(self, belief: Belief | None) -> dict[str, list[float]]:
        """Rate and sd of each pump; before any level has been heard, what an earlier core learned."""
        rates = self.balance.rates if belief is None else zip(belief.rates_l_min, belief.rates_sd_l_min, strict=True)
        return {pump.name: [rate, sd] for pump, (rate, sd) in zip(self.pumps, rates or (), strict=False)}

    def restore(self, saved: dict[str, Any]) -> None:
        if saved.get("version") != SAVED_AS:
            return
        rates, nominal = saved.get("rates_l_min", {}), {p.name: p.nominal_l_min for p in self.pumps}
        known = [rates.get(name, [rate, 0.12 * rate]) for name, rate in nominal.items()]
        self.balance.rates = tuple((rate, max(sd, 0.02 * rate)) for rate, sd in known)
        self.balance.modes.restore([saved.get("soaping_l_min", {}).get(pump.name) for pump in self.pumps])
        self.resume.restore(saved)
        if self.intake.meter is not None:
            self.intake.meter.totals.restore(saved.get("total"))
        self.balance.tap.l_min = self.balance.tap.low_l_min = self.balance.tap.high_l_min = saved.get("tap_l_min")
        self.balance.noise.var_m2 = saved.get("level_noise_m2", self.balance.noise.var_m2)
        self.judge.records = dict(saved.get("records_l_min", {}))
        self.judge.laid_up = bool(saved.get("laid_up", False))
        self.crew.restore(saved.get("crew", {}))
        self.jobs.restore(saved.get("jobs", {}))
        self.hours.restore(saved.get("hours", {}))
        self.servicing.restore(saved.get("services", {}))
        self.soaping.restore(saved.get("soaping", {}))
        self.tally.open = saved.get("tally")
        self.season.restore(saved.get("season", {}))
        if saved.get("alarms"):
            self.board = Board.restored(saved["alarms"], self.rig.about.language)
            self._resumes = True


class Part:
    """Ten of them in each second's work: a generator would cost three times as much."""

    __slots__ = ("_core", "_held")

    def __init__(self, core: Core, held: AbstractContextManager[None]) -> None:
        self._core, self._held = core, held

    def __enter__(self) -> None:
        self._held.__enter__()

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: Any) -> bool | None:
        if isinstance(fault, Exception):
            self._core.sound = False
        return self._held.__exit__(kind, fault, trace)


def recalibrate(core: Core) -> None:
    """The calibrations in force have changed: a core for the rig as it is now known, in the place of the old one.

    What was learned goes through `save`, as over a restart; what was heard, and how long ago, stands.
    """
    fresh, old = Core(core.file_rig, core.save(), core.held), core.intake
    for signal in fresh.intake.signals:
        fresh.intake.signals[signal] = old.signals[signal]
    fresh.intake.nodes, fresh.intake.unknown, fresh.intake.moving = old.nodes, old.unknown, old.moving
    fresh.intake.surroundings = old.surroundings
    for pump, watched in zip(fresh.pumps, core.pumps, strict=True):
        vars(pump).update(vars(watched) | {"nominal_l_min": pump.nominal_l_min})
        if watched.nominal_l_min != pump.nominal_l_min and fresh.balance.rates is not None:
            fresh.balance.rates = tuple(
                (p.nominal_l_min, 0.03 * p.nominal_l_min) if p is pump else rate
                for p, rate in zip(fresh.pumps, fresh.balance.rates, strict=True)
            )
    for name in ("now", "forecast", "past", "rejects", "latest_rejects", "wall_offset_s", "board"):
        setattr(fresh, name, getattr(core, name))
    fresh._resumes = False
    core.__dict__ = fresh.__dict__  # one core for everybody who holds it
