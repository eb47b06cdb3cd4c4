"""The day's water before the day begins, as a distribution over what this crew may do.

Many days are played minute by minute with plain floats. On each, every pump's share of trigger time, its draw and the
tap are drawn from what is believed of them; hands come to the gun and leave it; the water is followed through work,
rests and waits. Where a share was never seen, a loose guess stands for it and says so (`KINDS`).
"""

from collections.abc import Sequence
from itertools import combinations
from math import exp, inf
from random import Random
from typing import NamedTuple

from monitor.planning.supply import Tap

STEP_S = 60.0
DAYS = 200
DAY_BY_DAY = 0.05  # how far a crew's share moves from day to day; a stated guess
GUESS_DAYS = 2.0  # how many seen days that guess weighs as much as
AT_GUN_S, AWAY_S = 540.0, 150.0  # how long a hand stays at the gun and away from it; a stated guess
WANDERS, WANDERS_S = 0.05, 1800.0  # how a tap wanders within a day, as a share, and how long it remembers
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
DRAW_SPREAD = 0.06  # how far a draw in the rig file may be off, as a share; a stated guess
SEEN_SPREAD = 0.02  # and one that was seen
SURE = 0.9
MOST_WORK_S = MOST_WAIT_S = 16 * 3600.0
KEEPS = exp(-STEP_S / WANDERS_S)
KICK = WANDERS * (1.0 - KEEPS**2) ** 0.5


class Share(NamedTuple):
    """Trigger time as a share of the time worked: mean, and spread from day to day."""

    mean: float
    sd: float


# stated guesses, no published source; the spread is that of crews and of their days together
KINDS: dict[str, Share] = {
    "flat": Share(0.75, 0.12),  # flat work with a surface cleaner
    "walls": Share(0.6, 0.16),
    "rinsing": Share(0.5, 0.18),
    "mixed": Share(0.62, 0.17),
}


class Worked(NamedTuple):
    """One pump on one day that was lived: its share of trigger time, and how long was worked (s)."""

    share: float
    worked_s: float


def learned(kind: str, seen: Sequence[Worked]) -> Share:
    """What is expected of the next day: the guess alone, or the guess and the days seen, each by how sure it is.

    Crews differ around the guess, a crew's days around its own mean. What coming and going within so short a day
    explains is taken off the days' spread, since every planned day has its own.
    """
    guess, many = KINDS[kind], len(seen)
    if not many:
        return guess
    mean = sum(each.share for each in seen) / many
    apart = sum(max(0.0, (each.share - mean) ** 2 - _within(mean, each.worked_s)) for each in seen)
    day_var = (GUESS_DAYS * DAY_BY_DAY**2 + apart) / (GUESS_DAYS + many)
    crews_sure, days_sure = 1.0 / (guess.sd**2 - DAY_BY_DAY**2), many / day_var
    mean_var = 1.0 / (crews_sure + days_sure)
    return Share(mean_var * (crews_sure * guess.mean + days_sure * mean), (mean_var + day_var) ** 0.5)


def _within(mean: float, worked_s: float) -> float:
    """The variance of a day's share that comes of a hand's coming and going alone: an on-off process, averaged."""
    at_gun = AT_GUN_S / (AT_GUN_S + AWAY_S)
    remembers_s = AT_GUN_S * AWAY_S / (AT_GUN_S + AWAY_S)
    return mean**2 * (1.0 - at_gun) / at_gun * min(1.0, 2.0 * remembers_s / max(worked_s, 1.0))


class Gun(NamedTuple):
    """A pump in use: its draw when the trigger is held (l/min, with its spread), and its share of trigger time."""

    name: str
    draw_l_min: float
    draw_sd_l_min: float
    share: Share


class Vessel(NamedTuple):
    """The tank's marks in litres. Without a float valve `starts_closing_l` is `full_l`."""

    heel_l: float
    resumes_l: float
    starts_closing_l: float
    full_l: float


class Stretch(NamedTuple):
    """So long at work, or so long at something else while the tap runs on; `spread` is relative."""

    work: bool
    lasts_s: float
    spread: float = 0.2


class Range(NamedTuple):
    """The middle of what may come, and the bounds that nine days of ten keep to. None: not within the day."""

    low: float | None
    middle: float | None
    high: float | None


class Band(NamedTuple):
    """One moment of the picture: seconds from the start, and the water at each of `QUANTILES` (l)."""

    at_s: float
    volumes_l: tuple[float, ...]


class Plan(NamedTuple):
    """What to expect. `worked_s`: minutes worked before the first wait, in s."""

    lasts: float
    """How many days of a hundred have no wait, as a share."""
    worked_s: Range
    waits: Range
    waiting_s: Range
    used_l: Range
    ends_s: Range
    bring_l: float | None
    """The least water at the start with which nine days of ten have no wait; None where no tank of it is enough."""
    carried: tuple[tuple[str, ...], ...]
    """Sets of pumps that the tap carries at their usual shares, the most useful first."""
    fan: tuple[Band, ...]


class _Played(NamedTuple):
    """One day: when the first wait came (s worked, inf for never), the waits, what they took, the water over time."""

    worked_s: float
    waits: int
    waiting_s: float
    used_l: float
    volumes_l: list[float]
    need_l: float


def stretches(
    work_s: float, rest_every_s: float = 7200.0, rest_s: float = 900.0, before_s: float = 0.0
) -> list[Stretch]:
    """So much work, a rest after each while of it, and what goes before with the tap already running."""
    day = [Stretch(False, before_s)] if before_s > 0.0 else []
    left_s = min(work_s, MOST_WORK_S)
    while left_s > 0.0:
        now_s = min(left_s, rest_every_s)
        day.append(Stretch(True, now_s))
        left_s -= now_s
        if left_s > 0.0 and rest_s > 0.0:
            day.append(Stretch(False, rest_s))
    return day


def plan(
    water_l: float, tap: Tap, guns: Sequence[Gun], vessel: Vessel, day: Sequence[Stretch], seed: int = 1
) -> Plan:
    """The plan of one day. The same question has the same answer."""
    random = Random(seed)
    played = [_play(water_l, tap, guns, vessel, day, random) for _ in range(DAYS)]
    needs = sorted(each.need_l for each in played)
    bring_l = max(vessel.heel_l, needs[int(SURE * DAYS)])
    return Plan(
        lasts=sum(each.worked_s == inf for each in played) / DAYS,
        worked_s=_range([each.worked_s for each in played]),
        waits=_range([float(each.waits) for each in played]),
        waiting_s=_range([each.waiting_s for each in played]),
        used_l=_range([each.used_l for each in played]),
        ends_s=_range([STEP_S * (len(each.volumes_l) - 1) for each in played]),
        bring_l=bring_l if bring_l <= vessel.full_l else None,
        carried=carried(tap.l_min, guns),
        fan=_fan([each.volumes_l for each in played]),
    )


def carried(tap_l_min: float, guns: Sequence[Gun]) -> tuple[tuple[str, ...], ...]:
    """The sets of guns whose usual use the tap makes up for, none of them part of another."""
    usual = {gun.name: gun.draw_l_min * gun.share.mean for gun in guns}
    fit: list[tuple[str, ...]] = []
    for many in range(len(guns), 0, -1):
        for some in combinations(usual, many):
            if sum(usual[n] for n in some) <= tap_l_min and not any(set(some) < set(f) for f in fit):
                fit.append(some)
    return tuple(sorted(fit, key=lambda some: -sum(usual[n] for n in some)))


# -- one day ----------------------------------------------------------------------------------------------------------


class _Walk:
    """The water of one day, minute by minute: through work with `work`, without it with `rest`."""

    def __init__(self, water_l: float, tap_l_min: float, vessel: Vessel, random: Random) -> None:
        self.volume_l, self.vessel, self.tap_l_min, self.random = water_l, vessel, tap_l_min, random
        self.volumes_l = [water_l]
        self.waits, self.worked_s, self.used_l, self.waiting_s, self.first_s = 0, 0.0, 0.0, 0.0, inf
        self._wander = 0.0

    def rest(self) -> None:
        self._stands(self.volume_l + self._gains_l())

    def work(self, takes_l: float) -> None:
        """A minute at work; where the water comes down to the heel in it, the wait that follows."""
        gains_l, heel_l = self._gains_l(), self.vessel.heel_l
        after_l = self.volume_l + gains_l - takes_l
        if after_l >= heel_l or takes_l <= gains_l:
            self.used_l += takes_l
            self.worked_s += STEP_S
            self._stands(after_l)
            return
        share = min(1.0, max(0.0, (self.volume_l - heel_l) / (takes_l - gains_l)))
        self.used_l += share * takes_l
        self.first_s = min(self.first_s, self.worked_s + share * STEP_S)
        self.worked_s += STEP_S
        self._stands(heel_l)
        self._wait()

    def _wait(self) -> None:
        self.waits += 1
        while self.volume_l < self.vessel.resumes_l and self.waiting_s < MOST_WAIT_S:
            self.waiting_s += STEP_S
            self.rest()

    def _stands(self, volume_l: float) -> None:
        self.volume_l = min(volume_l, max(self.volume_l, self.vessel.full_l))
        self.volumes_l.append(self.volume_l)

    def _gains_l(self) -> float:
        """What runs in within a minute, throttled by a float valve near its shutting."""
        vessel = self.vessel
        self._wander = KEEPS * self._wander + self.random.gauss(0.0, KICK)
        supply_l = max(0.0, self.tap_l_min * (1.0 + self._wander)) * STEP_S / 60.0
        if self.volume_l <= vessel.starts_closing_l or vessel.full_l <= vessel.starts_closing_l:
            return supply_l
        return supply_l * max(0.0, (vessel.full_l - self.volume_l) / (vessel.full_l - vessel.starts_closing_l))


def _play(
    water_l: float, tap: Tap, guns: Sequence[Gun], vessel: Vessel, day: Sequence[Stretch], random: Random
) -> _Played:
    working = _working(day, random)
    wanted = _wanted(guns, working, random)
    walk = _Walk(water_l, max(0.0, random.gauss(tap.l_min, tap.sd_l_min)), vessel, random)
    for works, takes_l in zip(working, wanted, strict=True):
        if walk.waiting_s >= MOST_WAIT_S:  # no water comes any more: the day is over
            break
        if works:
            walk.work(takes_l)
        else:
            walk.rest()
    need_l = _need_l(wanted, walk.tap_l_min * STEP_S / 60.0, vessel)
    return _Played(walk.first_s, walk.waits, walk.waiting_s, walk.used_l, walk.volumes_l, need_l)


def _need_l(wanted: Sequence[float], supply_l: float, vessel: Vessel) -> float:
    """The water at the start with which this day has no wait; inf where even a full tank runs down to the heel."""
    stands_l = lowest_l = highest_l = deepest_l = 0.0
    for takes_l in wanted:
        stands_l += supply_l - takes_l
        highest_l = max(highest_l, stands_l)
        lowest_l = min(lowest_l, stands_l)
        deepest_l = max(deepest_l, highest_l - stands_l)
    return inf if deepest_l > vessel.full_l - vessel.heel_l else vessel.heel_l - lowest_l


def _working(day: Sequence[Stretch], random: Random) -> list[bool]:
    """Minute by minute, whether the crew is at work."""
    minutes: list[bool] = []
    for stretch in day:
        lasts_s = stretch.lasts_s * exp(random.gauss(0.0, stretch.spread)) if stretch.spread else stretch.lasts_s
        minutes += [stretch.work] * round(lasts_s / STEP_S)
    return minutes


def _wanted(guns: Sequence[Gun], working: Sequence[bool], random: Random) -> list[float]:
    """Litres wanted in each minute."""
    wanted = [0.0] * len(working)
    worked = [n for n, works in enumerate(working) if works]
    for gun in guns:
        draw_l = max(0.0, random.gauss(gun.draw_l_min, gun.draw_sd_l_min)) * STEP_S / 60.0
        share = _drawn_share(gun.share, random)
        at_gun = max(AT_GUN_S / (AT_GUN_S + AWAY_S), share)
        held_l = draw_l * share / at_gun
        away_s = AT_GUN_S * (1.0 - at_gun) / at_gun
        there = False  # as work begins the hoses are still to be unrolled: a hand comes to the gun
        until_s = random.expovariate(1.0 / max(away_s, 1.0))
        for k, n in enumerate(worked):
            while until_s <= (k + 0.5) * STEP_S:
                there = not there
                until_s += random.expovariate(1.0 / (AT_GUN_S if there else max(away_s, 1.0)))
            if there:
                wanted[n] += held_l
    return wanted


def _drawn_share(share: Share, random: Random) -> float:
    """From a beta law of that mean and spread."""
    mean = min(max(share.mean, 0.01), 0.99)
    width = max(mean * (1.0 - mean) / max(share.sd, 1e-3) ** 2 - 1.0, 0.5)
    return random.betavariate(mean * width, (1.0 - mean) * width)


# -- what is said of many days ----------------------------------------------------------------------------------------


def quantile(ordered: Sequence[float], q: float) -> float:
    return ordered[min(int(q * len(ordered)), len(ordered) - 1)]


def _range(values: list[float]) -> Range:
    ordered = sorted(values)
    return Range(*(None if (value := quantile(ordered, q)) == inf else value for q in (0.05, 0.5, 0.95)))


def _fan(days: list[list[float]]) -> tuple[Band, ...]:
    """Every five minutes, as long as half the days go on; a day that is over keeps its last water."""
    longest = sorted(len(day) for day in days)[len(days) // 2]
    bands = []
    for n in range(0, longest, 5):
        ordered = sorted(day[min(n, len(day) - 1)] for day in days)
        bands.append(Band(n * STEP_S, tuple(round(quantile(ordered, q), 1) for q in QUANTILES)))
    return tuple(bands)
