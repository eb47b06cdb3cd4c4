"""A tank being filled, written apart from the program: an obround one, waves on it, a meter that reads high.

The obround's area below a height is elementary geometry (two circular segments and a rectangle between them).
"""

from functools import cache
from math import acos, cos, exp, pi, sqrt
from random import Random

import numpy as np

from monitor.calibration.bucket import Bucket, Filling, bucket
from monitor.calibration.fill import Before, Second
from monitor.tank.strapping import Strapping

WIDTH, HEIGHT, LENGTH = 1.10, 0.69, 1.30  # m, 27 in high; lying
CAPACITY_L = 1000 * LENGTH * (pi * HEIGHT**2 / 4 + (WIDTH - HEIGHT) * HEIGHT)


def obround_l(height_m: float) -> float:
    """Litres below a height."""
    h, r = min(max(height_m, 0.0), HEIGHT), HEIGHT / 2
    segment = r * r * acos((r - h) / r) - (r - h) * sqrt(max(2 * r * h - h * h, 0.0))
    return 1000 * LENGTH * (segment + (WIDTH - HEIGHT) * h)


def upright_l(height_m: float) -> float:
    """The same standing on its round end: a half circle, a straight part, a half circle."""
    w, h, r = HEIGHT, min(max(height_m, 0.0), WIDTH), HEIGHT / 2

    def segment(depth: float) -> float:
        return r * r * acos((r - depth) / r) - (r - depth) * sqrt(max(2 * r * depth - depth * depth, 0.0))

    if h <= r:
        area = segment(h)
    elif h <= WIDTH - r:
        area = pi * r * r / 2 + w * (h - r)
    else:
        area = pi * r * r + w * (WIDTH - w) - segment(WIDTH - h)
    return 1000 * LENGTH * area


@cache
def _inverse(shape, top_m: float):
    """A fine table of the height at a volume: ten thousand points, closest where round tanks begin and end."""
    heights = top_m * (1 - np.cos(np.linspace(0, pi, 10_001))) / 2
    return np.array([shape(float(height)) for height in heights]), heights


def height_of(volume_l: float, shape, top_m: float) -> float:
    volumes, heights = _inverse(shape, top_m)
    return float(np.interp(volume_l, volumes, heights))


class Waves:
    """A lightly damped wave at 0.6 Hz, driven by chance, of this standard deviation; sampled once a second."""

    def __init__(self, rng: Random, sd_m: float, hz: float = 0.6, damping: float = 0.02) -> None:
        angle, decay = 2 * pi * hz, exp(-damping * 2 * pi * hz)
        self._rng, self._a, self._b = rng, 2 * decay * cos(angle), -decay * decay
        variance = (1 - self._b) / ((1 + self._b) * ((1 - self._b) ** 2 - self._a**2))
        self._kick = sd_m / sqrt(variance)
        self._last = self._before = 0.0
        for _ in range(200):
            self.next()

    def next(self) -> float:
        now = self._a * self._last + self._b * self._before + self._rng.gauss(0.0, self._kick)
        self._before, self._last = self._last, now
        return now


class Meter:
    """Counts `high` times what passes, a little noisily, in steps."""

    def __init__(self, rng: Random, high: float, step_l: float = 0.05, noise: float = 0.01) -> None:
        self._rng, self._high, self._step, self._noise, self._sum = rng, high, step_l, noise, 0.0

    def pass_l(self, litres: float) -> float:
        self._sum += litres * self._high * (1 + self._rng.gauss(0.0, self._noise))
        return self.total_l

    @property
    def total_l(self) -> float:
        return int(self._sum / self._step) * self._step


def bucket_test(rng: Random, high: float, step_l: float = 0.05, runs: int = 4, known_l: float = 18.9) -> Bucket:
    """A 5-gal bucket filled a few times; its mark is off by 0.4 per cent (sd), each filling by 0.3 per cent."""
    mark = rng.gauss(0.0, 0.004)
    meter, fillings = Meter(rng, high, step_l), []
    for _ in range(runs):
        true_l, before_l = known_l * (1 + mark) * (1 + rng.gauss(0.0, 0.003)), meter.total_l
        for _ in range(40):
            meter.pass_l(true_l / 40)
        fillings.append(Filling(meter.total_l - before_l, known_l, true_l / 0.44 + rng.gauss(0.0, 0.3)))
    return bucket(fillings, step_l)


def fill(
    rng: Random, high: float, factor: float, *, shape=obround_l, top_m: float = HEIGHT, l_s: float = 0.55,
    slosh_m: float = 0.004, until: float = 0.97,
) -> list[Second]:  # fmt: skip
    """A second-by-second fill from empty, the meter corrected by `factor`; the level rounded to a millimetre."""
    waves, meter = Waves(rng, slosh_m), Meter(rng, high)
    volume_l, out = 0.0, []
    while volume_l < until * CAPACITY_L:
        volume_l += l_s
        height_m = round(height_of(volume_l, shape, top_m) + waves.next(), 3)
        out.append(Second(float(len(out)), height_m, meter.pass_l(l_s) * factor))
    return out


def believed(rows) -> Before:
    """A table believed before, such as a plain box's of the same capacity."""
    table = Strapping.of_tank(rows, CAPACITY_L)
    return Before(table.height_m, table.volume_l, table.rows, CAPACITY_L)
