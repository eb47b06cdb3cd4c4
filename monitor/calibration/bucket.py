"""The bucket test: a known volume through the meter, with a stopwatch, a few times over."""

from collections.abc import Sequence
from itertools import pairwise
from math import hypot, sqrt
from statistics import fmean
from typing import NamedTuple

from monitor.calibration.fit import NORMAL_95, student_95
from monitor.calibration.unfit import Unfit

MARK = 0.004
"""How far a bucket's mark and the eye at it may be off, as a share of the volume, one sd."""
REPEATS = 0.004
"""How well one filling repeats where nothing is known yet: one sd. Common practice, no published source."""
USUAL = 4
"""How many fillings' worth that usual scatter has beside what was seen."""
STOPWATCH_S = 0.3
LEAST, MOST = 0.4, 2.5
APART = 0.08
LOOSEST = 0.06


class Filling(NamedTuple):
    """One bucket: what the meter counted (l) between tap shut and tap shut, what it held, and the stopwatch's time."""

    metered_l: float
    known_l: float
    seconds: float | None = None


class Bucket(NamedTuple):
    """The meter counts 1/factor of what passes: true = factor × counted. `spread` is 95 %, as a share of the factor."""

    factor: float
    spread: float
    tap_l_min: float | None
    tap_spread_l_min: float | None
    runs: int


def quantum_l(totals_l: Sequence[float]) -> float:
    """The meter's smallest step, seen from a run of its totals: the least step, or least difference of two steps."""
    steps = [step for low, high in pairwise(totals_l) if (step := high - low) > 1e-6]
    differences = [gap for low, high in pairwise(sorted(steps)) if (gap := high - low) > 1e-6]
    return min([*steps, *differences], default=0.0)


def bucket(fillings: Sequence[Filling], step_l: float = 0.0, mark: float = MARK) -> Bucket:
    """The meter's factor and the tap's flow. `step_l`: the meter's smallest step. Raises Unfit.

        factor = Σ known / Σ counted
        spread² = (1.96 mark)² + (t s / √n)²

    `mark` (one sd, a share) is the bucket's own error: every filling has the same, so it does not average out. `s` is
    the scatter of the single factors, pooled with the usual one, never less than the meter's step; t is Student's.
    """
    for filling in fillings:
        if filling.metered_l <= 0.0:
            raise Unfit("meter-counted-nothing")
    factors = [filling.known_l / filling.metered_l for filling in fillings]
    factor = sum(f.known_l for f in fillings) / sum(f.metered_l for f in fillings)
    if not LEAST < factor < MOST:
        raise Unfit("meter-far-off", factor=factor)
    if max(factors) > (1.0 + APART) * min(factors):
        raise Unfit("fillings-disagree", least=min(factors), most=max(factors))
    step = fmean([step_l / filling.metered_l for filling in fillings]) / sqrt(6.0)  # two ends, each uniform in a step
    spread = hypot(NORMAL_95 * mark, _scatter(factors, step))
    if spread > LOOSEST:
        raise Unfit("bucket-too-small", spread=spread, step_l=step_l)
    return Bucket(factor, spread, *_tap(fillings, spread), len(fillings))


def _scatter(factors: Sequence[float], step: float) -> float:
    """The 95 % half-width of the mean, as a share; what usually repeats counts like a few fillings of its own."""
    n, mean, usual = len(factors), fmean(factors), hypot(step, REPEATS)
    seen = sum((factor / mean - 1.0) ** 2 for factor in factors)
    s = sqrt((USUAL * usual**2 + seen) / (USUAL + n - 1))
    return student_95(USUAL + n - 1) * max(s, step) / sqrt(n)


def _tap(fillings: Sequence[Filling], spread: float) -> tuple[float | None, float | None]:
    timed = [(f.known_l, f.seconds) for f in fillings if f.seconds]
    if not timed:
        return None, None
    flow = 60.0 * sum(known for known, _ in timed) / sum(seconds for _, seconds in timed)
    watch = NORMAL_95 * STOPWATCH_S * sqrt(2.0 * len(timed)) / sum(seconds for _, seconds in timed)
    return flow, flow * hypot(spread, watch)
