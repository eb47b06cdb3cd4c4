"""What water that is not accounted for speaks of: a leak, the meter, or the level itself.

Lost water that goes with the metered flow is a meter that over-reads, lost water that does not is a leak; gained water
is a meter that reads low or stands, and a trickle of it a level that creeps. Only what the pumps cannot explain is
spoken of, whatever they do: soap, a worn nozzle and a half-open gun change what a pump takes by a third and more.

While pumps rest, whether their own signals say so or the level itself does by running straight for ten minutes, two
estimates are made: a straight line through the last minutes, and the accounts of all the rests together. Tested
each second, but with one new piece of evidence in some ten minutes, four sd are met by chance about once in 16,000
looks, that is once in a few hundred shifts (normal law). What a sound meter may be off is no evidence, and bounded
apart: OIML R 49 allows a class 2 meter 5 % at small flows. The names then follow from what each cause can do, and
where two fit alike nothing is named until one fits better, or for eight minutes.
"""

import math
from typing import Literal, NamedTuple

from monitor.balance.accounts import Accounts, Estimate
from monitor.balance.redundancy import Line, Redundancy, Residual

SURE_SD, LINE_SD, PLAIN_SD, OVER_SD = 5.0, 4.0, 3.0, 2.0
STRAIGHT = 1.5  # of von Neumann's ratio: noise alone in thirty buckets falls below one time in ten
BENT = 1.0  # below it noise alone lies one time in fifty, of eighteen buckets
ROUGH = 1.5  # over the readings' own scatter
METER_MPE = 0.05  # OIML R 49-1, class 2, between Q1 and Q2
RESTED_S, LINES_S, NOBODY_L = 300.0, (600.0, 1200.0), 1.0
NOW_S, CHANGED_S = (90.0, 180.0), 180.0
FASTEST_M_H = 0.1  # a level that creeps faster than this would have been seen to jump
FLOWS_L_MIN, FLOWS_AT_LEAST_L_MIN = 0.5, 3.0
LEAK_L_MIN = 1.3  # a slower loss is as likely a level that creeps
SLOW_L_MIN = 4.0  # a leak of some 2 l/min looks no faster on a noisy level
CREEP_L_MIN = 3.0  # no tap gives so little for long
TRICKLE_L_MIN = 1.6  # what may run under a meter's cut-off where a valve is nearly shut
LEAST_GAIN = 0.1
CREEPS_M_H = 0.009  # a level that creeps more slowly than this does so by warmth alone
WITH_THE_FLOW = 0.4  # of the metered flow: more is lost than any meter over-reads
STANDS_LOW, STANDS_HIGH = 0.9, 1.1
UNCLEAR_S = 480.0  # so long for a flow to change, before the likelier of two causes is named
METER_SHARE, PUMP_SHARE = 1.08, 1.2  # bounds of a sound meter, and of what a pump takes at most
LEAST_L = 4.0
GAIN_WINDOWS_S = (180.0, 420.0)
LOSS_WINDOWS_S = (60.0, 180.0, 420.0)
EVEN_LOW, EVEN_HIGH = 0.2, 0.9  # of a loss in the later half: an echo lies all in one
SLOW_SHARE = 0.4  # of the smallest draw: too slow for anybody's trigger, if it goes on evenly

What = Literal["", "leak", "meter", "creeping"]


class Odd(NamedTuple):
    """Water that is not accounted for (l/min, positive: gained), and what it speaks of."""

    what: What = ""
    l_min: float = 0.0
    burst: bool = False
    """No pump explains it, whatever they do: said at once, though pumps draw or may draw."""


NOTHING_ODD = Odd()
GROWN = 2.5  # one creeping by height is another flow where the tank is wider
SUSPECT_S = 4 * 3600.0  # a meter that erred, or a leak, is still the likelier cause so long after


class Bounds(NamedTuple):
    """Where the water stands, and how well it is seen."""

    throttled: bool
    """The float valve may hold the tap back: some of it may run under the meter's cut-off."""
    slope_l_per_m: float
    noise_l: float
    least_draw_l_min: float = math.inf
    """Of the smallest pump."""
    shape: float = 0.0
    """Where the tank's walls slant, a level a little off shows so much more or less of a flow than there is."""
    crept: float = 0.0
    """The same where the level has crept away: what that makes of a flow is no meter's fault."""

    @property
    def fastest_l_min(self) -> float:
        """No level creeps so fast."""
        return FASTEST_M_H * self.slope_l_per_m / 60.0


class Diagnosis:
    """Looks each second; keeps to what it has said until that is over."""

    def __init__(self, accounts: Accounts, redundancy: Redundancy) -> None:
        self.accounts, self.redundancy = accounts, redundancy
        self.odd = NOTHING_ODD
        self._unclear_since: float | None = None
        self._suspect: tuple[What, float, float] = ("", 0.0, -math.inf)
        """What was last named for sure, which way the water went (l/min), and when."""

    def look(self, at: float, bounds: Bounds, hold: bool = False) -> Odd:
        """`hold`: the level itself may stand; nothing new is named until that is clear."""
        short, long = self.accounts.estimates()
        if short is not None and self._changed(short):
            self.accounts.forget()
            short = long = None
        if self.odd.what and (self._over(short) or self._straight_again(bounds)):
            self.odd = NOTHING_ODD
            self.accounts.forget()  # what is over must not be spoken of again
            short = long = None
        if hold:
            return self.odd
        found = self._by_bounds(bounds) or self._by_line(at, bounds) or self._by_rest(at, short, long, bounds)
        if found is not None:
            self.odd = self._kept(at, found)
            if self.odd.what in ("meter", "leak"):
                self._suspect = (self.odd.what, self.odd.l_min, at)
        return self.odd

    def creeps(self, for_s: float) -> bool:
        """For so long the level has gone straight and slowly, as where nobody draws and a little leaks away."""
        line = self.redundancy.line(for_s)
        return line is not None and line.straight > BENT and -SLOW_L_MIN < line.slope_l_min < FLOWS_L_MIN

    def suspect_meter(self, at: float, l_min: float) -> None:
        """The meter has been found to err this way (positive: it counts too little)."""
        self._suspect = ("meter", l_min, at)

    def forget(self) -> None:
        self.accounts.forget()
        self.odd, self._unclear_since, self._suspect = NOTHING_ODD, None, ("", 0.0, -math.inf)

    def _kept(self, at: float, found: Odd) -> Odd:
        """What it was, it stays while the water goes the same way: one cause is not given three names."""
        what, before_l_min, named_at = self._suspect
        if found.what == "creeping" and found.l_min * before_l_min > 0.0 and at - named_at < SUSPECT_S:
            return found._replace(what=what)
        same_way = self.odd.what and (found.l_min > 0.0) == (self.odd.l_min > 0.0)
        grown = self.odd.what == "creeping" and abs(found.l_min) > GROWN * abs(self.odd.l_min)
        kept = same_way and not grown and (not found.burst or self.odd.what == "creeping")
        return found._replace(what=self.odd.what) if kept else found

    def _rested(self, window_s: float) -> Line | None:
        """The line through the rest of just now, however rough."""
        line = self.redundancy.line(window_s)
        return line if line is not None and line.rests else None

    def _changed(self, short: Estimate) -> bool:
        """The last minutes of rest are not as the accounts have it: something began or ended, and they mix the two."""
        line = self._rested(CHANGED_S)
        return line is not None and line.straight > STRAIGHT and not _fits(line, short, LINE_SD)

    def _holds_now(self, seen: Estimate) -> bool:
        """The rest of just now, where there is one, shows the same: what is named is so, and not a while ago."""
        lines = [line for window_s in NOW_S if (line := self._rested(window_s)) is not None]
        return all(_fits(line, seen, PLAIN_SD) for line in lines)

    # -- while no pump draws ----------------------------------------------------------------------------------

    def _by_rest(self, at: float, short: Estimate | None, long: Estimate | None, bounds: Bounds) -> Odd | None:
        creep_l_min = CREEPS_M_H * bounds.slope_l_per_m / 60.0
        for seen, least in ((short, LEAK_L_MIN), (long, creep_l_min)):
            if seen is None or abs(seen.l_min) < max(least, LINE_SD * seen.sd_l_min):
                continue
            if short is not None and abs(seen.l_min - short.l_min) > PLAIN_SD * short.sd_l_min:
                continue  # the last minutes know better
            if not self._holds_now(seen):
                continue
            what = self._speaks_of(at, seen, bounds)
            if what:
                return Odd(what, seen.l_min)
            return None
        self._unclear_since = None
        return None

    def _speaks_of(self, at: float, seen: Estimate, bounds: Bounds) -> What:
        """The name of it; "" while two causes fit alike."""
        if seen.flow_l_min < FLOWS_L_MIN:
            return _without_flow(seen.l_min, seen.sd_l_min, bounds)
        if seen.flow_l_min > FLOWS_AT_LEAST_L_MIN and _stands(-seen.l_min, seen.flow_l_min):
            return ""
        free = abs(seen.free_l_min) > PLAIN_SD * seen.free_sd_l_min
        gain = abs(seen.gain) > max(LEAST_GAIN + bounds.crept, PLAIN_SD * seen.gain_sd)
        if gain and not free:
            return "meter"
        if free and not gain:
            return _without_flow(seen.l_min, seen.sd_l_min, bounds)  # with the meter sound, known best
        return self._after_all(at, seen.l_min, seen.flow_l_min)

    def _after_all(self, at: float, l_min: float, flow_l_min: float) -> What:
        """The likelier of two, when nothing has told them apart for so long."""
        if self._unclear_since is None:
            self._unclear_since = at
        if at - self._unclear_since < UNCLEAR_S:
            return ""
        if abs(l_min) < LEAK_L_MIN:
            return "creeping"
        return "leak" if l_min < -WITH_THE_FLOW * flow_l_min else "meter"

    def _over(self, short: Estimate | None) -> bool:
        """It has lasted, and the last minutes of rest show nothing of it."""
        if short is None:
            return False
        size = abs(self.odd.l_min)
        return short.sd_l_min < 0.2 * size and abs(short.l_min) < max(0.3 * size, OVER_SD * short.sd_l_min)

    def _by_line(self, at: float, bounds: Bounds) -> Odd | None:
        """The level runs straight, for so long and so slowly that nobody draws."""
        creep_l_min = CREEPS_M_H * bounds.slope_l_per_m / 60.0
        for line in self._lines(bounds):
            beyond = abs(line.slope_l_min) - (METER_MPE + bounds.shape) * abs(line.metered_l_min)
            if beyond < max(creep_l_min, LINE_SD * line.sd_l_min):
                continue
            what = self._straight_speaks_of(at, line, bounds)
            if what == "creeping" and line.lasts_s < LINES_S[0]:
                continue  # a level that creeps does so for hours: five minutes of it may be warmth, or the tank's shape
            return Odd(what, line.slope_l_min, burst=True) if what else None
        return None

    def _lines(self, bounds: Bounds, for_s: float = math.inf) -> list[Line]:
        """The straight lines at hand that no pump has made."""
        slow_l_min = SLOW_SHARE * bounds.least_draw_l_min
        lines = []
        for window_s in (RESTED_S, *LINES_S):
            line = self.redundancy.line(window_s) if window_s <= for_s else None
            if line is None or line.straight < STRAIGHT or line.rough > ROUGH:
                continue
            slow = window_s > RESTED_S and line.drawn_l < NOBODY_L and abs(line.slope_l_min) < slow_l_min
            if line.rests or slow:
                lines.append(line)
        return lines

    def _straight_speaks_of(self, at: float, line: Line, bounds: Bounds) -> What:
        """By one line alone a flow and a share of the metered flow look alike: by their size only."""
        flow, off = line.metered_l_min, line.slope_l_min
        if flow < FLOWS_L_MIN:
            return _without_flow(off, line.sd_l_min, bounds)
        if flow > FLOWS_AT_LEAST_L_MIN and _stands(-off, flow):
            return ""
        if abs(off) < (LEAST_GAIN + max(bounds.shape, bounds.crept)) * flow:
            return "creeping"
        if abs(off) > bounds.fastest_l_min:
            return "leak" if off < -WITH_THE_FLOW * flow else "meter"
        return self._after_all(at, off, flow)

    def meter_sound(self, bounds: Bounds, for_s: float) -> bool:
        """In the last `for_s` water flowed, nobody drew, and the level rose by just what the meter counted."""
        lines = [line for line in self._lines(bounds, for_s) if line.metered_l_min > FLOWS_AT_LEAST_L_MIN]
        return any(
            abs(line.slope_l_min) + PLAIN_SD * line.sd_l_min < LEAST_GAIN * line.metered_l_min for line in lines
        )

    def _straight_again(self, bounds: Bounds) -> bool:
        """Over the last minutes of rest nothing of it is to be seen."""
        lines = self._lines(bounds)
        if not lines:
            return False
        line, size = lines[0], abs(self.odd.l_min)
        sound_l_min = METER_MPE * line.metered_l_min
        return line.sd_l_min < 0.2 * size and abs(line.slope_l_min) < max(0.3 * size, sound_l_min)

    # -- whatever the pumps do --------------------------------------------------------------------------------

    def _by_bounds(self, bounds: Bounds) -> Odd | None:
        """Water gained beyond all that was metered, or lost beyond all that pumps can take."""
        for window_s in LOSS_WINDOWS_S:
            seen = self.redundancy.over(window_s, bounds.noise_l)
            half = self.redundancy.over(0.5 * window_s, bounds.noise_l)
            if seen is None or half is None:
                return None
            for excess in (_lost_l, _gained_l) if window_s in GAIN_WINDOWS_S else (_lost_l,):
                total, later = excess(seen, window_s), excess(half, 0.5 * window_s)
                even = excess is _gained_l or EVEN_LOW * total < later < EVEN_HIGH * total
                if even and total > max(LEAST_L, SURE_SD * seen.sd_l):
                    return _called(seen, excess is _gained_l, total, window_s, bounds)
        return None


def _fits(line: Line, seen: Estimate, sds: float) -> bool:
    """The line is as the estimate has it, be it a flow or a share of what is metered."""
    flow_l_min = line.metered_l_min
    as_flow = abs(line.slope_l_min - seen.l_min) < sds * math.hypot(line.sd_l_min, seen.sd_l_min)
    spread = math.hypot(line.sd_l_min, seen.sd_l_min, seen.gain_sd * (flow_l_min - seen.flow_l_min))
    return as_flow or abs(line.slope_l_min - seen.free_l_min - seen.gain * flow_l_min) < sds * spread


def _gained_l(seen: Residual, window_s: float) -> float:
    """What came beyond all that a sound meter may have missed."""
    return -seen.fell_l - METER_SHARE * seen.metered_l - TRICKLE_L_MIN * window_s / 60.0


def _lost_l(seen: Residual, window_s: float) -> float:
    """What went beyond all that pumps can take, a sound meter may have counted too much, or a small loss takes."""
    lost_l = seen.fell_l + seen.metered_l / METER_SHARE - PUMP_SHARE * seen.most_l
    return lost_l - max(LEAK_L_MIN * window_s / 60.0, WITH_THE_FLOW * seen.metered_l)


def _called(seen: Residual, gained: bool, excess_l: float, window_s: float, bounds: Bounds) -> Odd | None:
    minutes = window_s / 60.0
    if gained:
        rate = excess_l / minutes + TRICKLE_L_MIN
        return Odd("meter", rate) if rate > max(CREEP_L_MIN, bounds.fastest_l_min) else None
    if _stands(seen.fell_l + seen.metered_l, seen.metered_l):
        return None
    return Odd("leak", -excess_l / minutes - LEAK_L_MIN, burst=True)


def _stands(lost: float, metered: float) -> bool:
    """A leak that takes just what the tap gives is no leak: the level does not follow (``standstill.py`` says so)."""
    return metered > 0.0 and STANDS_LOW < lost / metered < STANDS_HIGH


def _without_flow(l_min: float, sd_l_min: float, bounds: Bounds) -> What:
    if l_min < 0.0:
        unclear = l_min < -LEAK_L_MIN + OVER_SD * sd_l_min
        return "leak" if l_min < -LEAK_L_MIN else "" if unclear else "creeping"
    if bounds.throttled and l_min < TRICKLE_L_MIN:
        return ""
    return "meter" if l_min > CREEP_L_MIN else "creeping"
