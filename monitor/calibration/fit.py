"""Straight lines and bent ones through noisy points, and how far they can be trusted.

The noise of a level is slosh: it comes in waves, so neighbouring seconds are not independent. Its variance is therefore
taken from the means of blocks longer than a wave.
"""

from collections.abc import Sequence
from statistics import fmean
from typing import NamedTuple

BLOCK = 10
NORMAL_95 = 1.96

# Student's t, two-sided 95 %, by degrees of freedom (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2)
STUDENT_95 = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)


def student_95(freedom: int) -> float:
    """The half-width of a 95 % interval in standard errors; `freedom` from 1. Beyond 10 within 0.01 of the table."""
    if freedom <= len(STUDENT_95):
        return STUDENT_95[freedom - 1]
    return NORMAL_95 + 2.42 / freedom + 2.9 / freedom**2


class Line(NamedTuple):
    """y = at_mean + slope × (x − mean_x)."""

    mean_x: float
    at_mean: float
    slope: float

    def at(self, x: float) -> float:
        return self.at_mean + self.slope * (x - self.mean_x)


def line(xs: Sequence[float], ys: Sequence[float]) -> Line:
    """Least squares. Raises ZeroDivisionError where all x are the same."""
    mean_x, mean_y = fmean(xs), fmean(ys)
    across = sum((x - mean_x) ** 2 for x in xs)
    return Line(mean_x, mean_y, sum((x - mean_x) * y for x, y in zip(xs, ys, strict=True)) / across)


def bent_at(xs: Sequence[float], ys: Sequence[float], x0: float) -> tuple[float, float]:
    """The value at x0 of a parabola through the points by least squares, and the share of noise variance in it.

    Normal equations in (x − x0), scaled; solved by Cramer's rule, since only the first unknown is wanted.
    """
    reach = max(max(abs(x - x0) for x in xs), 1e-12)
    us = [(x - x0) / reach for x in xs]
    s1, s2, s3, s4 = (sum(u**power for u in us) for power in (1, 2, 3, 4))
    n = float(len(us))
    t0, t1, t2 = (sum(y * u**power for u, y in zip(us, ys, strict=True)) for power in (0, 1, 2))
    first, second, third = s2 * s4 - s3 * s3, s2 * s3 - s1 * s4, s1 * s3 - s2 * s2
    whole = n * first + s1 * second + s2 * third
    return (first * t0 + second * t1 + third * t2) / whole, first / whole


def wave_variance(residuals: Sequence[float]) -> float:
    """The variance that one second's noise counts for when many are averaged: from the means of blocks of 10."""
    blocks = [fmean(residuals[i : i + BLOCK]) for i in range(0, len(residuals) - BLOCK + 1, BLOCK)]
    if len(blocks) < 3:
        return fmean([r * r for r in residuals])
    return BLOCK * sum(b * b for b in blocks) / len(blocks)
