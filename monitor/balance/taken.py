"""What each pump really takes, by the level alone, over the last ten minutes of which signals tell who drew.

The filter holds what a pump takes for nearly constant, and is slow to believe that it has changed. Here the level less
what was metered is a straight line of time and of each pump's minutes of drawing:  y = c + e·t − Σ kᵢ·Dᵢ,  with Dᵢ what
pump i would have drawn by its own record (l), kᵢ the share of it that left the tank, and e what goes past the meter.
Least squares with broad priors (kᵢ = 1 ± 0.5, e = 0 ± 0.5 l/min, and as much more as untold pumps may draw), that is
Bayes' linear regression; the noise is the scatter about the fit.
"""

import math
from collections import deque
from statistics import median
from typing import NamedTuple

BUCKET_S, KEPT, FEWEST = 10.0, 60, 18
SHARE_SD, PAST_METER_SD_L_MIN = 0.5, 0.5
LEAST_NOISE_L = 0.5
DREW_L = 20.0


class Share(NamedTuple):
    """Of its record; and the sd of it."""

    share: float
    sd: float


class _Point(NamedTuple):
    minutes: float
    level_l: float
    drawn_l: tuple[float, ...]


class Taken:
    """Told of each second."""

    def __init__(self, pumps: int) -> None:
        self._pumps = pumps
        self._points: deque[_Point] = deque(maxlen=KEPT)
        self._drawn_l, self._metered_l = [0.0] * pumps, 0.0
        self._levels: list[float] = []
        self._since = self._untold_l_min = 0.0
        self.shares: tuple[Share | None, ...] = (None,) * pumps

    def add(
        self, at: float, level_l: float | None, metered_l: float, drawn_l: tuple[float, ...], untold_l_min: float = 0.0
    ) -> None:
        """`drawn_l`: by each pump in this second, by its record, as likely as it is that it draws; `untold_l_min`: of
        the pumps that no signal tells of."""
        self._untold_l_min = untold_l_min
        self._metered_l += metered_l
        self._drawn_l = [sum(pair) for pair in zip(self._drawn_l, drawn_l, strict=True)]
        if level_l is not None:
            self._levels.append(level_l - self._metered_l)
        if at - self._since >= BUCKET_S:
            if self._levels:
                self._points.append(_Point(at / 60.0, median(self._levels), tuple(self._drawn_l)))
                self.shares = self._fit()
            self._levels, self._since = [], at

    def forget(self) -> None:
        """The level stands elsewhere, or nobody knows who draws."""
        self._points.clear()
        self._levels = []
        self.shares = (None,) * self._pumps

    def _fit(self) -> tuple[Share | None, ...]:
        points = list(self._points)
        if len(points) < FEWEST:
            return (None,) * self._pumps
        rows = _centred([[p.minutes, *(-d for d in p.drawn_l)] for p in points])
        levels = [row[0] for row in _centred([[p.level_l] for p in points])]
        prior = [(PAST_METER_SD_L_MIN + self._untold_l_min) ** -2, *([1.0 / SHARE_SD**2] * self._pumps)]
        noise_l2 = 1.0
        for _ in range(2):  # the noise first guessed, then taken from the fit
            fit, spread = _solved(rows, levels, prior, [0.0, *([1.0] * self._pumps)], noise_l2)
            left = [y - sum(a * b for a, b in zip(row, fit, strict=True)) for row, y in zip(rows, levels, strict=True)]
            noise_l2 = max(LEAST_NOISE_L**2, sum(x * x for x in left) / len(left))
        return tuple(
            Share(fit[k], spread[k]) if points[-1].drawn_l[k - 1] - points[0].drawn_l[k - 1] > DREW_L else None
            for k in range(1, self._pumps + 1)
        )


def _centred(rows: list[list[float]]) -> list[list[float]]:
    means = [sum(column) / len(rows) for column in zip(*rows, strict=True)]
    return [[value - mean for value, mean in zip(row, means, strict=True)] for row in rows]


def _solved(
    rows: list[list[float]], seen: list[float], weights: list[float], expected: list[float], noise_l2: float
) -> tuple[list[float], list[float]]:
    """Fit and sd of each term: Gauss-Jordan on the normal equations, which are positive definite by the priors."""
    size = len(weights)
    table = [
        [sum(row[i] * row[j] for row in rows) / noise_l2 + weights[i] * (i == j) for j in range(size)]
        + [sum(row[i] * y for row, y in zip(rows, seen, strict=True)) / noise_l2 + weights[i] * expected[i]]
        + [float(i == j) for j in range(size)]
        for i in range(size)
    ]
    for k in range(size):
        pivot = table[k][k]
        table[k] = [value / pivot for value in table[k]]
        for i in range(size):
            if i != k:
                times = table[i][k]
                table[i] = [a - times * b for a, b in zip(table[i], table[k], strict=True)]
    return [line[size] for line in table], [math.sqrt(table[k][size + 1 + k]) for k in range(size)]
