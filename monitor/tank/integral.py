"""Integrals of the smooth curves a tank is made of, with nothing but the standard library."""

from collections.abc import Callable
from math import cos, pi, sin

# Abramowitz & Stegun, Handbook of Mathematical Functions (1964), table 25.4, n = 5: (abscissa, weight)
GAUSS: tuple[tuple[float, float], ...] = (
    (-0.906179845938664, 0.236926885056189),
    (-0.538469310105683, 0.478628670499366),
    (0.0, 0.568888888888889),
    (0.538469310105683, 0.478628670499366),
    (0.906179845938664, 0.236926885056189),
)


def bent(low: float, high: float, parts: int) -> list[float]:
    """`parts` + 1 points from low to high, close together at both ends, where round tanks change fastest."""
    inner = [low + (high - low) * (1 - cos(pi * i / parts)) / 2 for i in range(1, parts)]
    return [low, *inner, high]


def integral(curve: Callable[[float], float], low: float, high: float, parts: int) -> float:
    """The integral of a curve that may rise like a square root at both bounds.

    Five-point Gauss-Legendre on each of `parts` pieces, after
    x = low + (high - low)(1 - cos t)/2, which makes such ends smooth.
    """
    return sum(integrals(curve, low, high, parts))


def integrals(curve: Callable[[float], float], low: float, high: float, parts: int) -> list[float]:
    """The same, piece by piece: the integrals between the points of `bent`."""
    half_width, half_step = (high - low) / 2, pi / parts / 2
    pieces = []
    for part in range(parts):
        middle = (2 * part + 1) * half_step
        nodes = [(middle + half_step * x, weight) for x, weight in GAUSS]
        heights = sum(weight * sin(t) * curve(low + half_width * (1 - cos(t))) for t, weight in nodes)
        pieces.append(half_step * half_width * heights)
    return pieces
