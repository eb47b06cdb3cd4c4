"""One step of the filter, written out in plain floats: time passes, a level is taken in, estimates are mixed.

At this size that is ten times as fast as arrays. Checked against filterpy and statsmodels in
``tests/balance/test_filter.py``.
"""

V, B, E, G, R0 = 0, 1, 2, 3, 4  # places in the state: see filter.py

Matrix = list[list[float]]


class Hypothesis:
    """One set of pumps that may be drawing (`mask`, a bit a pump), with its own estimate."""

    __slots__ = ("cov", "mask", "mean", "weight")

    def __init__(self, mask: int, weight: float, mean: list[float], cov: Matrix) -> None:
        self.mask, self.weight, self.mean, self.cov = mask, weight, mean, cov


def predict(mean: list[float], cov: Matrix, moved: list[float], metered_l: float, noise: list[float]) -> None:
    """One step of time, in place. `moved[k]` is dV/dx[k] over the step; `noise[k]` the variance each x[k] gains."""
    size = len(mean)
    water = metered_l
    for k in range(size):
        water += moved[k] * mean[k]
    mean[V] = water
    row = [0.0] * size
    for k in range(size):
        share = moved[k]
        if share:
            line = cov[k]
            for j in range(size):
                row[j] += share * line[j]
    variance = 0.0
    for k in range(size):
        variance += moved[k] * row[k]
    first = cov[V]
    for j in range(1, size):
        first[j] = cov[j][V] = row[j]
    first[V] = variance
    for k in range(size):
        cov[k][k] += noise[k]


def fade(mean: list[float], cov: Matrix, share: float) -> None:
    """Let the unmetered flow go back towards nothing, in place: what no level goes on to show is forgotten."""
    mean[E] *= share
    for j in range(len(mean)):
        cov[E][j] *= share
        cov[j][E] *= share


def correct(
    mean: list[float], cov: Matrix, seen_l: float, slope: float, variance: float, learn_bias: bool = False
) -> tuple[float, float]:
    """Take in one level (as a volume, l), in place; returns the surprise (l) and its variance (l²).

    The bias is considered, not learned (Schmidt, Advances in Control Systems 3, 1966): its spread counts in full, but
    no level moves it. A level could tell of it only by the tank's slope changing from height to height, and there a
    few per cent of error in meter or pumps would be taken for centimetres of tilt.
    """
    size = len(mean)
    first, second = cov[V], cov[B]
    gain = [first[j] + slope * second[j] for j in range(size)]
    spread = gain[V] + slope * gain[B] + variance
    surprise = seen_l - mean[V] - slope * mean[B]
    bias, bias_var = mean[B], cov[B][B]
    per = surprise / spread
    for j in range(size):
        mean[j] += gain[j] * per
    for i in range(size):
        share = gain[i] / spread
        line = cov[i]
        for j in range(i, size):
            line[j] -= share * gain[j]
            cov[j][i] = line[j]
    if not learn_bias:
        mean[B], cov[B][B] = bias, bias_var
    return surprise, spread


def mixed(parts: list[tuple[float, Hypothesis]]) -> tuple[list[float], Matrix]:
    """Mean and covariance of a weighted mixture (weights add up to one)."""
    if len(parts) == 1:
        only = parts[0][1]
        return only.mean[:], [line[:] for line in only.cov]
    mean = middle(parts)
    size = len(mean)
    cov = [[0.0] * size for _ in range(size)]
    for share, part in parts:
        off = [part.mean[k] - mean[k] for k in range(size)]
        for i in range(size):
            line, of, off_i = cov[i], part.cov[i], off[i]
            for j in range(i, size):
                line[j] += share * (of[j] + off_i * off[j])
    for i in range(1, size):
        for j in range(i):
            cov[i][j] = cov[j][i]
    return mean, cov


def mixed_each(parts: list[tuple[float, Hypothesis]]) -> tuple[list[float], list[float]]:
    """Mean and variance of each state of a weighted mixture, as `mixed` gives them, without what ties them together."""
    mean = middle(parts)
    variance = [0.0] * len(mean)
    for share, part in parts:
        of, cov = part.mean, part.cov
        for k, at in enumerate(mean):
            off = of[k] - at
            variance[k] += share * (cov[k][k] + off * off)
    return mean, variance


def middle(parts: list[tuple[float, Hypothesis]]) -> list[float]:
    mean = [0.0] * len(parts[0][1].mean)
    for share, part in parts:
        for k, of in enumerate(part.mean):
            mean[k] += share * of
    return mean
