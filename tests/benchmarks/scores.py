"""How good a forecast and a warning are. Pure functions; times in s, volumes in l.

Loss: the weighted interval score of the 5, 50 and 95 % quantiles (Bracher, Ray, Gneiting, Reich: Evaluating epidemic
forecasts in an interval format, PLOS Computational Biology 17, 2021), one interval, quantiles and outcome capped.
"""

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

CAP_S = 900.0
LATE_S = 120.0
NUISANCE_S = 300.0
FAR_S, FAR_FOR_S, GRACE_S = 600.0, 60.0, 60.0
REFILLED_SHARE = 0.03
LEVELS = (0.05, 0.5, 0.95)

Triple = Sequence[float]
UNSAID: tuple[float, float, float] = (0.0, 0.5 * CAP_S, CAP_S)
"""What a forecast that says nothing is scored as: anything may be."""


def interval_score(quantiles: Triple, outcome_s: float) -> float:
    """Weighted interval score in s; quantiles and outcome are capped at `CAP_S`, what is beyond the horizon too."""
    low, middle, high = (min(q, CAP_S) for q in quantiles)
    y, alpha = min(outcome_s, CAP_S), 0.1
    interval = (high - low) + 2.0 / alpha * (max(0.0, low - y) + max(0.0, y - high))
    return (0.5 * abs(y - middle) + 0.5 * alpha * interval) / 1.5


def pinball(quantile: float, outcome_s: float, level: float) -> float:
    off = min(outcome_s, CAP_S) - min(quantile, CAP_S)
    return level * off if off >= 0.0 else (level - 1.0) * off


def covered(quantiles: Triple, outcome_s: float) -> list[bool | None]:
    """Whether each quantile lies above the outcome; None where it is beyond the cap, for nobody can tell there."""
    return [None if q >= CAP_S else outcome_s <= q for q in quantiles]


def dressing(points: Sequence[float], outcomes: Sequence[float]) -> list[float]:
    """The three factors which, put on bare point forecasts, lose least on these very outcomes (kind to a rival)."""
    grid = [math.exp(0.05 * i) for i in range(-80, 61)]
    pairs = list(zip(points, outcomes, strict=True))
    return [min(grid, key=lambda c: sum(pinball(c * p, y, level) for p, y in pairs)) for level in LEVELS]


class Span(NamedTuple):
    """A warning from its raise to its clearing, in s of the shift."""

    raised_s: float
    cleared_s: float


class Water(NamedTuple):
    """What really happened, second by second of a shift."""

    usable_l: list[float]
    """Over the heel."""
    dry_s: list[float]
    """Until the heel is next reached, infinite beyond the look-ahead."""
    present_s: list[float]
    """Until it would be at the present net flow; infinite while the water does not fall."""
    in_use_s: list[float]
    """Until it would be if every pump used within ten minutes drew without a pause."""
    capacity_l: float


def run_dries(water: Water) -> list[int]:
    """The seconds at which the tank ran dry. One counts anew once 3 % of the tank has come back over the heel."""
    dries, armed = [], False
    for t, usable in enumerate(water.usable_l):
        if usable > REFILLED_SHARE * water.capacity_l:
            armed = True
        elif armed and usable <= 1e-3:
            dries.append(t)
            armed = False
    return dries


def judge_warnings(spans: Sequence[Span], water: Water, dries: Sequence[int]) -> dict[str, list[float]]:
    """Times of misses, late warnings, nuisances; leads and standing time.

    A warning overstays if it stands a minute after the true time to dry has been over ten minutes for a minute, with
    what really happened taken for the true time; it clings if so with the time at which the pumps in use could empty
    the tank, which is fairer while a crew stands waiting at an empty tank.
    """
    standing = {dry: next((s for s in spans if s.raised_s < dry <= s.cleared_s + 1.0), None) for dry in dries}
    leads = [(dry, dry - span.raised_s) for dry, span in standing.items() if span is not None]
    return {
        "dries": list(dries),
        "missed": [dry for dry, span in standing.items() if span is None],
        "late": [dry for dry, lead in leads if lead < LATE_S],
        "leads": [lead for _, lead in leads],
        "nuisances": [s.raised_s for s in spans if _nuisance(s, water)],
        "overstays": [s.raised_s for s in spans if _stays(s, water.dry_s)],
        "clings": [s.raised_s for s in spans if _stays(s, water.in_use_s)],
        "standing": [s.cleared_s - s.raised_s for s in spans],
    }


def _nuisance(span: Span, water: Water) -> bool:
    """Between the raise and the clearing (five minutes at least) present use never leads under five minutes."""
    until = int(max(span.cleared_s, span.raised_s + NUISANCE_S))
    return min(water.present_s[int(span.raised_s) : until + 1], default=math.inf) >= NUISANCE_S


def _stays(span: Span, true_s: Sequence[float]) -> bool:
    far = 0.0
    for time_s in true_s[int(span.raised_s) : int(span.cleared_s)]:
        far = far + 1.0 if time_s > FAR_S else 0.0
        if far > FAR_FOR_S + GRACE_S:
            return True
    return False


def spans_of(holds: Sequence[tuple[float, bool]], end_s: float) -> list[Span]:
    """The spans in which a state, known at rising times, holds."""
    spans, since = [], None
    for at, on in holds:
        if on and since is None:
            since = at
        elif not on and since is not None:
            spans.append(Span(since, at))
            since = None
    return spans if since is None else [*spans, Span(since, end_s)]


def share(values: Sequence[float], p: float) -> float:
    """An empirical quantile, nan of nothing."""
    if not values:
        return math.nan
    ordered = sorted(values)
    return ordered[min(int(p * len(ordered)), len(ordered) - 1)]


def mean(values: Sequence[float], of: Callable[[float], float] = float) -> float:
    return math.fsum(of(v) for v in values) / len(values) if values else math.nan
