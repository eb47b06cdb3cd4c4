"""What one more sensor would buy, in order of its worth, by this rig's own figures."""

from collections.abc import Iterator
from typing import NamedTuple

from monitor.balance.worth import HORIZON_S, UNWATCHED_MOST, Range, Sensors, Situation, dry_range
from monitor.quantities import System, write, write_time
from monitor.rig.doubts import highest_draw_l_min
from monitor.rig.gains_words import WORDS
from monitor.rig.model import Rig

SHORT_S = 900.0  # under it, whole minutes would hide what is gained


class Gain(NamedTuple):
    """One sensor, and what share of the width of the time to dry would be left with it (1: nothing gained)."""

    text: str
    left: float = 1.0


def gains(rig: Rig, language: str = "en", system: System | None = None) -> list[str]:
    """How well the time to dry is known, and one sentence for each sensor the rig does without and would gain from.

    In the owner's units, or those of `system`. Ranges by `monitor.balance.worth`: half the water between heel and full;
    none without a pump, or with so many of unknown draw that reckoning them would take too long.
    """
    teller = _Teller(rig, language, system or rig.about.units)
    found = sorted(teller.all(), key=lambda gain: gain.left)
    if not found:
        return [teller.say("nothing")]
    return [*teller.now(), *(gain.text for gain in found)]


class _Teller:
    """Looks at each sensor that is not there."""

    def __init__(self, rig: Rig, language: str, system: System) -> None:
        self.rig, self.words, self.system = rig, WORDS[language], system
        self.pumps = rig.pumps
        self.metered = rig.supply is not None and rig.supply.reading is not None
        self.by = Sensors(
            self.metered,
            tuple(pump.drawing is not None for pump in self.pumps),
            tuple(pump.running is not None for pump in self.pumps),
            len(rig.tank.levels),
        )
        self.figures = 0 < len(self.pumps) <= UNWATCHED_MOST + sum(self.by.drawing)
        self.all_at_work = self._situation(tuple(True for _ in self.pumps))

    def say(self, key: str, **values: str) -> str:
        return self.words[key].format(**values)

    def now(self) -> Iterator[str]:
        if self.figures:
            volume = write(self.all_at_work.usable_l, "volume", self.system)
            yield self.say("now", volume=volume, range=self._range(dry_range(self.all_at_work, self.by)))

    def all(self) -> Iterator[Gain]:
        for look in (self._meter, self._drawing, self._running, self._slope, self._temperatures, self._motion):
            yield from look()

    def _meter(self) -> Iterator[Gain]:
        if not self.metered:
            yield self._with(self.say("meter"), self.by._replace(metered=True))

    def _drawing(self) -> Iterator[Gain]:
        names = [pump.name for pump in self.pumps if pump.drawing is None]
        if names:
            watched = self.by._replace(drawing=tuple(True for _ in self.pumps))
            yield self._with(self.say("drawing", names=self._listed(names)), watched)

    def _running(self) -> Iterator[Gain]:
        """It tells most while one pump works and the others stand."""
        names = [pump.name for pump in self.pumps if pump.running is None and pump.drawing is None]
        if not names:
            return
        text = self.say("running", names=self._listed(names))
        if len(self.pumps) == 1 or not self.figures:
            yield Gain(text)
            return
        most = max(self.pumps, key=lambda pump: pump.draw_l_min)
        alone = self._situation(tuple(pump is most for pump in self.pumps))
        without = dry_range(alone, self.by)
        with_it = dry_range(alone, self.by._replace(running=tuple(True for _ in self.pumps)))
        told = self.say("alone", pump=most.name, without=self._range(without), range=self._range(with_it))
        yield Gain(f"{text} {told}", _left(with_it, without))

    def _slope(self) -> Iterator[Gain]:
        rig = self.rig
        if rig.extra.slope is None and len(rig.tank.levels) == 1:
            table, draw_l_min = rig.tank.strapping, highest_draw_l_min(rig)
            inch_l = 0.0254 * table.slope_l_per_m(table.height_m(rig.tank.band_l[0]))
            worth = self.say("worth", time=f"{60 * inch_l / draw_l_min:.0f} s") if draw_l_min else ""
            length, volume = write(0.0254, "length", self.system), write(inch_l, "volume", self.system, 1)
            yield self._with(
                self.say("slope", length=length, volume=volume, worth=worth), self.by._replace(levels=2), "second"
            )

    def _temperatures(self) -> Iterator[Gain]:
        for level in self.rig.tank.levels:
            of = level.range.of if level.range else level.measures
            if of == "pressure" and self.rig.extra.water_temperature is None:
                yield Gain(self.say("water", reading=level.reading))
            if level.assumed_c is not None and self.rig.extra.air_temperature is None:
                yield Gain(self.say("air", reading=level.reading))

    def _motion(self) -> Iterator[Gain]:
        if self.rig.extra.motion is None and self.rig.tank.tow_limit_l is not None:
            yield Gain(self.say("motion"))

    # -- the figures --------------------------------------------------------------------------------------------

    def _situation(self, at_work: tuple[bool, ...]) -> Situation:
        """Half the water between heel and full; a tap that gives half of what is drawn."""
        tank, draws = self.rig.tank, tuple(pump.draw_l_min for pump in self.pumps)
        usable_l = (tank.full_l - tank.heel_l) / 2.0
        slope = tank.strapping.slope_l_per_m(tank.strapping.height_m(tank.heel_l + usable_l))
        drawn = sum(draw for draw, works in zip(draws, at_work, strict=True) if works)
        return Situation(usable_l, slope, draws, at_work, drawn / 2.0)

    def _with(self, text: str, by: Sensors, how: str = "with") -> Gain:
        if not self.figures:
            return Gain(text)
        with_it = dry_range(self.all_at_work, by)
        left = _left(with_it, dry_range(self.all_at_work, self.by))
        return Gain(f"{text} {self.say(how, range=self._range(with_it))}", left)

    def _range(self, known: Range) -> str:
        return self.say("range", low=self._time(known.low_s), high=self._time(known.high_s))

    def _time(self, time_s: float) -> str:
        if time_s < HORIZON_S - 1.0:
            return write_time(time_s) if time_s >= SHORT_S else f"{time_s / 60:.1f} min"
        return self.say("over", time=f"{HORIZON_S / 3600:.0f} h")

    def _listed(self, names: list[str]) -> str:
        return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {self.say('and')} {names[-1]}"


def _left(with_it: Range, without: Range) -> float:
    return with_it.width_s / without.width_s if without.width_s > 0.0 else 1.0
