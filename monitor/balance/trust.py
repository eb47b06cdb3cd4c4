"""How far the level and the meter can be trusted, each held against the other by the water balance.

A verdict is `good`, `uncertain` or `bad` with a reason; a reason is a name, the words for it are the pages' business.
"""

from typing import Literal, NamedTuple

Quality = Literal["good", "uncertain", "bad"]
Reason = Literal["", "missing", "out of range", "frozen", "jumping", "drifting", "contradicts", "never heard"]

GATE = 16.0  # a surprise of four sd is not taken in
WAIT_S = 30.0  # a steady false echo has been seen to last 18 s: a new level must stand longer before it is believed
STEADY_SD = 3.0  # how steady a parted level must be to count as one new level
MOVE_MEMORY_S = 180.0  # a level that steps so soon after a move is tilt, not water
PARTED_SD = 4.0
FROZEN_AFTER_S = 10.0


class Verdict(NamedTuple):
    quality: Quality
    reason: Reason = ""


GOOD = Verdict("good")


class Parting:
    """Watches for levels that no water could have made: a splash, a false echo, a jump, a tilt after a move."""

    def __init__(self) -> None:
        self.since: float | None = None
        self._mean_l = 0.0
        self._count = 0
        self.jumped_at: float | None = None

    def judge(self, at: float, surprise_l: float, spread_l2: float, noise_l2: float) -> Literal["take", "wait", "jump"]:
        """Take this second's level in, wait for more, or accept that the level stands somewhere new.

        `spread_l2` is the variance of the surprise, `noise_l2` the part of it that is the sensor's noise.
        """
        if surprise_l * surprise_l <= GATE * spread_l2:
            self.since = None
            return "take"
        apart = surprise_l - self._mean_l
        if self.since is None or apart * apart > STEADY_SD**2 * 9.0 * max(noise_l2, 1.0):
            self.since, self._mean_l, self._count = at, surprise_l, 1
            return "wait"
        self._count += 1
        self._mean_l += apart / min(self._count, 20)
        if at - self.since < WAIT_S:
            return "wait"
        self.since, self.jumped_at = None, at
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
