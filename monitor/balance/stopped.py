"""The meter stops while water was flowing: is the tap shut, or is the meter dead?

From the stop on the level less what pumps draw goes on as before where only the meter died, and falls by the flow where
the water stopped. A sequential test (Wald, Annals of Mathematical Statistics 16, 1945) decides as soon as one of the
two is nine times as likely, at the latest after three quarters of a minute for a shut tap; a meter that
shows dead beyond doubt later on is still named. The slope is the straight line's through the seconds since the stop.
"""

import math
from typing import Literal

DECIDES, CORRECTS = math.log(9.0), math.log(1000.0)
SETTLES_S, LONGEST_S, WATCHED_S = 8.0, 45.0, 300.0
SLOSH = 1.9
DRAW_SD = 0.1  # of what is drawn: soap, nozzles, a half-open gun

Says = Literal["", "shut", "dead"]


class Stop:
    """One stop of the metered flow. `flow_l_min` flowed before; `off_l_min`: what the level gained beyond all that
    was counted even then (soap, a half-open gun)."""

    def __init__(self, at: float, flow_l_min: float, off_l_min: float = 0.0) -> None:
        self.at, self.flow_l_min, self.off_l_min = at, flow_l_min, off_l_min
        self.says: Says = ""
        self._kept_l = self._drawn_l = 0.0
        self._n, self._blind = 0, False
        self._t = self._y = self._tt = self._ty = 0.0

    def add(
        self, at: float, level_l: float | None, metered_l: float, drawn_l: float, noise_l: float, told: bool = True
    ) -> Says:
        """One more second: the level as a volume and what pumps drew in it. Where signals do not tell (`told`) what
        pumps drew, the tap is taken for shut."""
        if not told:
            self.says, self._blind = "shut", True
        self._kept_l += drawn_l - metered_l
        self._drawn_l += drawn_l
        t = at - self.at
        if level_l is not None:
            y = level_l + self._kept_l
            self._n += 1
            self._t, self._y, self._tt, self._ty = self._t + t, self._y + y, self._tt + t * t, self._ty + t * y
        if SETTLES_S <= t <= WATCHED_S and not self._blind:
            self.says = self._decide(t, noise_l)
        return self.says

    def _decide(self, t: float, noise_l: float) -> Says:
        spread = self._tt - self._t * self._t / self._n if self._n > 2 else 0.0
        if spread > 0.0:
            gained = 60.0 * (self._ty - self._t * self._y / self._n) / spread - self.off_l_min
            sd = math.hypot(60.0 * SLOSH * noise_l / math.sqrt(spread), DRAW_SD * 60.0 * self._drawn_l / t)
            likelier = self.flow_l_min / (sd * sd) * (gained - 0.5 * self.flow_l_min)  # dead over shut, as a logarithm
            if likelier > (CORRECTS if self.says == "shut" else DECIDES):
                return "dead"
            if not self.says and likelier < -DECIDES:
                return "shut"
        return self.says or ("shut" if t >= LONGEST_S else "")
