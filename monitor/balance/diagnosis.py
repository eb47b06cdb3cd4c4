"""What water that is not accounted for speaks of: a leak, the meter, or the level itself.

Lost water that goes with the metered flow is a meter that over-reads, lost water that does not is a leak; gained water
is a meter that reads low or stands, and a trickle of it a level that creeps. Only what the pumps cannot explain is
spoken of, whatever they do: soap, a worn nozzle and a half-open gun change what a pump takes by a third and more.
"""

from typing import Literal, NamedTuple

from monitor.balance.accounts import Accounts, Estimate
from monitor.balance.redundancy import Redundancy, Residual

SURE_SD, PLAIN_SD, OVER_SD = 5.0, 3.0, 2.0
FLOWS_L_MIN = 0.5
LEAK_L_MIN = 1.3  # a slower loss is as likely a level that creeps
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
STEADY_S, STEADY, SLOW_SHARE = 900.0, 1.3, 0.4  # a loss too even and too slow for anybody's trigger

What = Literal["", "leak", "meter", "creeping"]


class Odd(NamedTuple):
    """Water that is not accounted for (l/min, positive: gained), and what it speaks of."""

    what: What = ""
    l_min: float = 0.0
    burst: bool = False
    """No pump explains it, whatever they do: said at once, though pumps draw or may draw."""


NOTHING_ODD = Odd()


class Bounds(NamedTuple):
    """Where the water stands, and how well it is seen."""

    throttled: bool
    """The float valve may hold the tap back: some of it may run under the meter's cut-off."""
    slope_l_per_m: float
    noise_l: float
    unwatched_l_min: float | None = None
    """The smallest draw of the pumps that no signal tells of, where no other draws; else None."""


class Diagnosis:
    """Looks each second; keeps to what it has said until that is over."""

    def __init__(self, accounts: Accounts, redundancy: Redundancy) -> None:
        self.accounts, self.redundancy = accounts, redundancy
        self.odd = NOTHING_ODD
        self._unclear_since: float | None = None

    def look(self, at: float, bounds: Bounds) -> Odd:
        short, long = self.accounts.estimates()
        if self.odd.what and self._over(short, bounds):
            self.odd = NOTHING_ODD
            self.accounts.long = self.accounts.short  # what is over must not be spoken of again
        found = self._by_bounds(bounds) or self._by_rest(at, short, long, bounds)
        if found is not None:
            self.odd = self._kept(found)
        return self.odd

    def forget(self) -> None:
        self.accounts.forget()
        self.odd, self._unclear_since = NOTHING_ODD, None

    def _kept(self, found: Odd) -> Odd:
        """What it was, it stays while the water goes the same way: one cause is not given three names."""
        same_way = self.odd.what and (found.l_min > 0.0) == (self.odd.l_min > 0.0)
        return found._replace(what=self.odd.what) if same_way and not found.burst else found

    # -- while no pump draws ----------------------------------------------------------------------------------

    def _by_rest(self, at: float, short: Estimate | None, long: Estimate | None, bounds: Bounds) -> Odd | None:
        creep_l_min = CREEPS_M_H * bounds.slope_l_per_m / 60.0
        for seen, least in ((short, LEAK_L_MIN), (long, creep_l_min)):
            if seen is None or abs(seen.l_min) < max(least, SURE_SD * seen.sd_l_min):
                continue
            if short is not None and abs(seen.l_min - short.l_min) > PLAIN_SD * short.sd_l_min:
                continue  # the last minutes know better
            what = self._speaks_of(at, seen, bounds)
            if what:
                return Odd(what, seen.l_min)
            return None
        self._unclear_since = None
        return None

    def _speaks_of(self, at: float, seen: Estimate, bounds: Bounds) -> What:
        """The name of it; "" while two causes fit alike."""
        if seen.flow_l_min < FLOWS_L_MIN:
            return _without_flow(seen.l_min, bounds)
        if _stands(-seen.l_min, seen.flow_l_min):
            return "creeping"
        free = abs(seen.free_l_min) > PLAIN_SD * seen.free_sd_l_min
        gain = abs(seen.gain) > max(LEAST_GAIN, PLAIN_SD * seen.gain_sd)
        if gain and not free:
            return "meter"
        if free and not gain:
            return _without_flow(seen.free_l_min, bounds)
        if self._unclear_since is None:
            self._unclear_since = at
        if at - self._unclear_since < UNCLEAR_S:
            return ""
        if abs(seen.l_min) < LEAK_L_MIN:
            return "creeping"
        return "leak" if seen.l_min < -WITH_THE_FLOW * seen.flow_l_min else "meter"

    def _over(self, short: Estimate | None, bounds: Bounds) -> bool:
        """It has lasted, and the last minutes of rest show nothing of it."""
        if short is None:
            return False
        size = abs(self.odd.l_min)
        return short.sd_l_min < 0.2 * size and abs(short.l_min) < max(0.3 * size, OVER_SD * short.sd_l_min)

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
                    return _called(seen, excess is _gained_l, total, window_s)
        return self._steadily(bounds)

    def _steadily(self, bounds: Bounds) -> Odd | None:
        """Where no signal tells of the pumps: a fall so slow and even that no trigger made it."""
        if bounds.unwatched_l_min is None:
            return None
        line = self.redundancy.line(STEADY_S, bounds.noise_l)
        if line is None or line.scatter > STEADY:
            return None
        loss = -line.slope_l_min
        least = max(LEAK_L_MIN, WITH_THE_FLOW * line.metered_l_min)
        return Odd("leak", -loss, burst=True) if least < loss < SLOW_SHARE * bounds.unwatched_l_min else None


def _gained_l(seen: Residual, window_s: float) -> float:
    """What came beyond all that a sound meter may have missed."""
    return -seen.fell_l - METER_SHARE * seen.metered_l - TRICKLE_L_MIN * window_s / 60.0


def _lost_l(seen: Residual, window_s: float) -> float:
    """What went beyond all that pumps can take, a sound meter may have counted too much, or a small loss takes."""
    lost_l = seen.fell_l + seen.metered_l / METER_SHARE - PUMP_SHARE * seen.most_l
    return lost_l - max(LEAK_L_MIN * window_s / 60.0, WITH_THE_FLOW * seen.metered_l)


def _called(seen: Residual, gained: bool, excess_l: float, window_s: float) -> Odd | None:
    minutes = window_s / 60.0
    if gained:
        rate = excess_l / minutes + TRICKLE_L_MIN
        return Odd("meter" if rate > CREEP_L_MIN else "creeping", rate)
    if _stands(seen.fell_l + seen.metered_l, seen.metered_l):
        return None
    return Odd("leak", -excess_l / minutes - LEAK_L_MIN, burst=True)


def _stands(lost: float, metered: float) -> bool:
    """A leak that takes just what the tap gives is no leak: the level does not follow."""
    return metered > 0.0 and STANDS_LOW < lost / metered < STANDS_HIGH


def _without_flow(l_min: float, bounds: Bounds) -> What:
    if l_min < 0.0:
        return "leak" if l_min < -LEAK_L_MIN else "creeping"
    if bounds.throttled and l_min < TRICKLE_L_MIN:
        return ""
    return "meter" if l_min > CREEP_L_MIN else "creeping"
