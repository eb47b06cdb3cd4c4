"""How far the level and the meter can be trusted, each held against the other by the water balance.

A verdict is `good`, `uncertain` or `bad` with a reason; a reason is a name, the words for it are the pages' business.
"""

from typing import Literal, NamedTuple

Quality = Literal["good", "uncertain", "bad"]
Reason = Literal["", "missing", "out of range", "frozen", "jumping", "drifting", "contradicts", "never heard"]

GATE = 16.0  # a surprise of four sd is not taken in
SUDDEN = 36.0  # six sd in the first second: a burst line gains one litre on the gate's four
WAIT_S = 30.0  # a steady false echo has been seen to last 18 s: a new level must stand longer before it is believed
BACK_S = 6.0  # a level that was away need stand no longer than this
AWAY_S = 45.0
STEADY_SD = 3.0  # how steady a parted level must be to count as one new level
SURE_SD, GONE_SD, MATTERS_L_MIN, LASTS_S = 4.0, 1.5, 0.7, 150.0


class Verdict(NamedTuple):
    quality: Quality
    reason: Reason = ""


GOOD = Verdict("good")


class Parting:
    """Watches for levels that no water could have made: a splash, a false echo, a jump, a tilt after a move."""

    def __init__(self) -> None:
        self.since: float | None = None
        self.sudden = False
        """It stood far off at once: water slides away, however fast it runs."""
        self._mean_l = 0.0
        self._count = 0
        self.jumped_at: float | None = None
        self.anew_at: float | None = None
        """The level stands somewhere new since then: jumped, or back from where it was away."""

    def judge(
        self, at: float, surprise_l: float, spread_l2: float, noise_l2: float, back: bool = False
    ) -> Literal["take", "wait", "jump"]:
        """Take this second's level in, wait for more, or accept that the level stands somewhere new.

        `back`: the level was away for long; where it comes back to a new height, that is no jump to speak of.

        `spread_l2` is the variance of the surprise, `noise_l2` the part of it that is the sensor's noise.
        """
        if surprise_l * surprise_l <= GATE * spread_l2:
            self.since = None
            return "take"
        apart = surprise_l - self._mean_l
        if self.since is None or apart * apart > STEADY_SD**2 * 9.0 * max(noise_l2, 1.0):
            if self.since is None:
                self.sudden = surprise_l * surprise_l > SUDDEN * spread_l2
            self.since, self._mean_l, self._count = at, surprise_l, 1
            return "wait"
        self._count += 1
        self._mean_l += apart / min(self._count, 20)
        if at - self.since < (BACK_S if back else WAIT_S):
            return "wait"
        self.since, self.anew_at, self.jumped_at = None, at, None if back else at
        return "jump"


class Tally:
    """A one-sided CUSUM of standardised surprises: finds a lasting small shift, with a known false-alarm rate.

    With allowance k = 0.5 the mean time between false alarms is, for independent normal surprises and one side, 930
    steps at h = 5 and over 10⁷ at h = 15; a lasting shift of one sd is found after some 30 steps at h = 15
    (Montgomery, Introduction to Statistical Quality Control; by Siegmund's approximation (e^(2kb) − 2kb − 1)/(2k²)
    with b = h + 1.166; all recomputed in ``tests/balance/test_trust.py``). Surprises are capped at three sd.
    """

    def __init__(self, allowance: float = 0.5, limit: float = 15.0) -> None:
        self.allowance, self.limit = allowance, limit
        self.high = self.low = 0.0

    def add(self, standardised: float) -> Literal["", "high", "low"]:
        z = max(-3.0, min(3.0, standardised))
        self.high = max(0.0, self.high + z - self.allowance)
        self.low = max(0.0, self.low - z - self.allowance)
        if self.high > self.limit:
            return "high"
        return "low" if self.low > self.limit else ""

    def reset(self) -> None:
        self.high = self.low = 0.0


class Unaccounted:
    """Says when the water that moves past the meter (the filter's `e`) is no chance any more.

    It must lie four sd from nothing, and matter, for minutes without a break; once sure, it must lie near nothing for
    as long before it is dropped.
    """

    def __init__(self) -> None:
        self.l_min = 0.0
        self._sure = False
        self._turning_since: float | None = None

    def watch(self, at: float, l_min: float, sd_l_min: float) -> None:
        self.l_min = l_min
        size = abs(l_min)
        if self._sure:
            turns = size < max(GONE_SD * sd_l_min, 0.5 * MATTERS_L_MIN)
        else:
            turns = size > max(SURE_SD * sd_l_min, MATTERS_L_MIN)
        if not turns:
            self._turning_since = None
        elif self._turning_since is None:
            self._turning_since = at
        elif at - self._turning_since >= LASTS_S:
            self._sure, self._turning_since = not self._sure, None

    def pause(self) -> None:
        """Nothing can be told at the moment: what was sure stays so."""
        self._turning_since = None

    def rate_l_min(self) -> float | None:
        """The unmetered flow, where it is sure."""
        return self.l_min if self._sure else None
