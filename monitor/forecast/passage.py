"""When the water first reaches the heel: a first passage, simulated forward over what the crew may do.

Many paths are drawn. On each, the volume, every pump's rate and the tap are drawn from what is believed of them;
each trigger lasts as its habit lets it, given how long its present state has lasted; the crew rests now and then; the
tap may be shut or opened. The times at which the paths reach the heel are the forecast, their quantiles the range.

For a constant drift with diffusion the law is known: the inverse Gaussian (Schrödinger 1915; Folks and Chhikara, J. R.
Statist. Soc. B 40, 1978). ``tests/forecast/test_passage.py`` holds this simulation against it.
"""

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from functools import lru_cache
from random import Random
from typing import NamedTuple

from monitor.forecast.habits import CrewHabit, Remaining, TriggerHabit

HORIZON_S = 3600.0
BANK = 48
PATHS = 100
FEW = 50  # enough while the heel is far off, whatever happens
FAR_S = 1500.0
LEAST_STEP_S = 4.0


class Spread(NamedTuple):
    mean: float
    sd: float


class Water(NamedTuple):
    """The tank, as the forecast needs it (l)."""

    usable_l: Spread
    room_l: float
    """From the heel to where the float valve has shut, or to the brim."""
    throttle_l: float
    """From the heel to where the float valve starts to close."""


class Supply(NamedTuple):
    """The tap: flow now, flow when nothing holds it back (l/min), and how often it is shut and opened (1/s)."""

    now_l_min: float
    open_l_min: float
    sd_l_min: float
    shut_per_s: float
    open_per_s: float


class Demand(NamedTuple):
    """One pump: its rate when it draws."""

    rate_l_min: Spread


class Future:
    """What a trigger does from one change on: it changes at each of `moments_s` of working time, the first 0.

    Drawn only as far as some path has asked for it.
    """

    __slots__ = ("_drawing", "_off", "_on", "_random", "drawn_s", "moments_s")

    def __init__(self, on: Remaining, off: Remaining, drawing: bool, random: Random) -> None:
        self._on, self._off, self._drawing, self._random = on, off, drawing, random
        self.moments_s = [0.0]
        self.drawn_s = [0.0]
        """Seconds drawn up to each."""

    def reach(self, until_s: float) -> None:
        t, drawn, drawing = self.moments_s[-1], self.drawn_s[-1], self._drawing
        random, moments_s, drawn_s = self._random.random, self.moments_s, self.drawn_s
        while t <= until_s:
            lasts = (self._on if drawing else self._off).whole(random())
            t += lasts
            if drawing:
                drawn += lasts
            moments_s.append(t)
            drawn_s.append(drawn)
            drawing = not drawing
        self._drawing = drawing


class Bank:
    """Ready-made futures of one trigger, from a fresh start."""

    def __init__(self, habit: TriggerHabit) -> None:
        self.habit = habit
        self.after_on: list[Future] = []
        self.after_off: list[Future] = []
        self._next = 0
        self._known = 0

    def refresh(self, random: Random) -> None:
        """Make some paths anew, so that the bank follows the habit; all of them while little is known."""
        seen = len(self.habit.on.seen)
        many = BANK if not self.after_on or (seen < 40 and seen > 1.3 * self._known) else 1
        if many == BANK:
            self._known = seen
        on, off = self.habit.on.lasting(), self.habit.off.lasting()
        for _ in range(many):
            fresh_on, fresh_off = Future(on, off, True, random), Future(on, off, False, random)
            if len(self.after_on) < BANK:
                self.after_on.append(fresh_off)
                self.after_off.append(fresh_on)
            else:
                self.after_on[self._next], self.after_off[self._next] = fresh_off, fresh_on
                self._next = (self._next + 1) % BANK


class Forecaster:
    """Draws the paths. Holds the banks of futures between calls."""

    def __init__(self, crew: CrewHabit) -> None:
        self.crew = crew
        self.banks = [Bank(trigger) for trigger in crew.triggers]

    def passages(
        self,
        at: float,
        water: Water,
        supply: Supply,
        demands: Sequence[Demand],
        drawing: Sequence[float],
        random: Random,
        paths: int | None = None,
    ) -> list[float]:
        """Times (s) to the heel, ascending, one a path; infinite where the horizon comes first.

        `drawing` is the probability that each pump draws now.
        """
        for bank in self.banks:
            bank.refresh(random)
        working = self.crew.working_s(at)
        starts = [Start(bank, working) for bank in self.banks]
        rests = Rests(self.crew, at)
        times = []
        fastest_l_s = sum(demand.rate_l_min.mean for demand in demands) / 60.0
        if paths is None:
            paths = PATHS if water.usable_l.mean < FAR_S * fastest_l_s else FEW
        for n in range(paths):
            normal = normal_quantile((n + 0.5) / paths)
            usable = water.usable_l.mean + water.usable_l.sd * normal
            if usable <= 0.0:
                times.append(0.0)
                continue
            pumps = [
                start.path(random, max(0.0, random.gauss(*demand.rate_l_min)) / 60.0, random.random() < likely)
                for start, demand, likely in zip(starts, demands, drawing, strict=True)
            ]
            times.append(one_path(usable, water, supply, pumps, rests.phases(random), random))
        times.sort()
        return times


class Pump(NamedTuple):
    """One pump on one path."""

    rate_l_s: float
    drawing: bool
    residual_s: float
    after: Future


class Start:
    """Where one trigger stands now."""

    def __init__(self, bank: Bank, working_s: float) -> None:
        habit = bank.habit
        self.bank, self.habit = bank, habit
        elapsed = max(0.0, working_s - habit.since_s)
        self.same = (habit.on if habit.drawing else habit.off).lasting(elapsed)
        self.other = (habit.off if habit.drawing else habit.on).lasting(0.0)

    def path(self, random: Random, rate_l_s: float, drawing: bool) -> Pump:
        rest = self.same if drawing == self.habit.drawing else self.other
        bank = self.bank.after_on if drawing else self.bank.after_off
        return Pump(rate_l_s, drawing, rest.draw(random), bank[int(random.random() * len(bank))])


class Rests:
    """The crew's coming rests, drawn path by path."""

    def __init__(self, crew: CrewHabit, at: float) -> None:
        elapsed = 0.0 if crew.since is None else max(0.0, at - crew.since)
        self.resting, self.leaving = crew.resting, crew.leaving
        self.now = (crew.rest if crew.resting else crew.work).lasting(elapsed)
        self.work, self.rest = crew.work.lasting(), crew.rest.lasting()

    def phases(self, random: Random) -> Iterator[tuple[float, bool]]:
        """One after the other without end: until when it lasts, in seconds from now, and whether it is a rest."""
        if self.resting or random.random() < self.leaving:
            t = (self.now if self.resting else self.rest).draw(random)
            yield t, True
            t += self.work.draw(random)
        else:
            t = self.now.draw(random)
        while True:
            yield t, False
            t += self.rest.draw(random)
            yield t, True
            t += self.work.draw(random)


def one_path(
    usable: float, water: Water, supply: Supply, pumps: list[Pump], phases: Iterator[tuple[float, bool]], random: Random
) -> float:
    """The time (s) at which one path reaches the heel, or infinity."""
    fastest = sum(p.rate_l_s for p in pumps)
    if fastest <= 0.0:
        return math.inf
    wobble = random.gauss(0.0, 1.0) * supply.sd_l_min
    opened = max(0.0, supply.open_l_min + wobble) / 60.0
    throttled = usable > water.throttle_l  # full, nothing flows: the valve holds the tap back, nobody shut it
    came = opened if throttled else max(0.0, supply.now_l_min + wobble) / 60.0
    flowing = came > 0.0
    changes_at = random.expovariate(max(1e-9, supply.shut_per_s if flowing else supply.open_per_s))
    throttle_l = water.throttle_l
    t = drawn = work = 0.0
    left, until, resting = usable, 0.0, False
    while t < HORIZON_S:
        while t >= until:
            until, resting = next(phases)
        step = HORIZON_S if resting else 0.98 * left / fastest  # nobody draws in a rest: straight on
        if step < LEAST_STEP_S:
            step = LEAST_STEP_S
        if until - t + 1e-6 < step:
            step = until - t + 1e-6
        if HORIZON_S - t + 1e-6 < step:
            step = HORIZON_S - t + 1e-6
        if t < changes_at <= t + step:
            step = changes_at - t + 1e-6
        before, begun, drew = left, t, 0.0
        t += step
        if not resting:  # written out: most of a forecast's time is spent here
            work += step
            total = 0.0
            for rate_l_s, drawing, residual_s, after in pumps:
                beyond = work - residual_s
                if beyond > 0.0:
                    moments = after.moments_s
                    if beyond >= moments[-1]:
                        after.reach(beyond)
                    k = bisect_right(moments, beyond) - 1
                    seconds = after.drawn_s[k]
                    if k & 1 == drawing:  # it begins with the other state
                        seconds += beyond - moments[k]
                    total += rate_l_s * (residual_s + seconds if drawing else seconds)
                elif drawing:
                    total += rate_l_s * work
            drew, drawn = total - drawn, total
        left -= drew
        if flowing:
            left += came * step
            if (left > throttle_l or before > throttle_l) and came > 0.0:
                left = _through_the_valve(before, drew, step, water, came)
        if left <= 0.0:
            return begun + step * before / (before - left)
        if t >= changes_at:
            flowing, came = not flowing, opened
            changes_at = t + random.expovariate(max(1e-9, supply.shut_per_s if flowing else supply.open_per_s))
    return math.inf


def _through_the_valve(left: float, drew: float, step: float, water: Water, came: float) -> float:
    """The water (l) after `step` seconds in which `drew` litres went evenly and the float valve held the tap back: in
    proportion, from where it starts to close to where it has shut. There dL/dt = c (room − L)/band − d, whose answer
    is an exponential; above and below, straight lines."""
    draw = drew / step
    net = came - draw
    if left > water.room_l:
        falls_s = (left - water.room_l) / draw if draw > 0.0 else math.inf
        if falls_s >= step:
            return left - drew
        left, step = water.room_l, step - falls_s
    elif left < water.throttle_l:
        rises_s = (water.throttle_l - left) / net if net > 0.0 else math.inf
        if rises_s >= step:
            return left + net * step
        left, step = water.throttle_l, step - rises_s
    band = max(1e-6, water.room_l - water.throttle_l)
    settles = water.room_l - band * draw / came
    if net < 0.0:
        leaves_s = band / came * math.log((left - settles) / (water.room_l - band - settles))
        if leaves_s < step:
            return water.throttle_l + net * (step - leaves_s)
    return settles + (left - settles) * math.exp(-came * step / band)


def quantile(ascending: Sequence[float], share: float) -> float:
    """The quantile of a sorted sample, between neighbours; infinite where the sample is."""
    place = share * len(ascending) - 0.5
    low = min(max(math.floor(place), 0), len(ascending) - 1)
    high = min(low + 1, len(ascending) - 1)
    a, b = ascending[low], ascending[high]
    if math.isinf(b):
        return a if place <= low else b
    return a + max(0.0, place - low) * (b - a)


@lru_cache(maxsize=1024)
def normal_quantile(p: float) -> float:
    """Inverse of the normal law, absolute error under 5e-4 (Abramowitz and Stegun 26.2.23)."""
    q = min(p, 1.0 - p)
    t = math.sqrt(-2.0 * math.log(q))
    x = t - (2.515517 + 0.802853 * t + 0.010328 * t * t) / (1 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t**3)
    return -x if p < 0.5 else x
