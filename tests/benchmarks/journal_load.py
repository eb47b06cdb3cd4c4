"""The load the journal's benchmarks share: three nodes, ten times a second, four values each.

Two sorts of values: `sensor`, as such sensors send them (a level to a tenth of a millimetre, a meter to a centilitre, a
pressure to ten pascals, a count), and `hard`, doubles with noise down to the last bit.
"""

import random

from monitor.changes import Forecast
from monitor.readings import Pack, Record

AT = 1_795_600_000
PER_SECOND = 120
NODES = ("tank", "inlet", "rides")
UNITS = ("m", "l", "Pa", "count")


def values(kind, tick, node):
    noise = (tick * 7919 + node * 104_729) % 4001
    if kind == "hard":
        return [random.Random(tick * 12 + node * 4 + k).gauss(1200.0, 3.0) for k in range(4)]
    level_m = round(0.6 - tick * 1e-6 + noise % 61 * 1e-4, 4)
    return [level_m, round(tick * 0.044, 2), 3e5 + noise % 97 * 10.0, float(tick)]


def packs(kind, seconds, start=0):
    """Packs of so many seconds, arriving within a millisecond or so of their time."""
    for tick in range(start * 10, (start + seconds) * 10):
        for node, name in enumerate(NODES):
            at_us = AT * 1_000_000 + tick * 100_000 + node * 137 + tick * 7919 % 1500
            records = zip(UNITS, values(kind, tick, node), strict=True)
            yield Pack(at_us / 1e6, "mqtt 1", name, tuple(Record(f"{name}/{unit}", unit, v) for unit, v in records))


def forecast(at):
    wobble = at % 97 / 7
    return Forecast(
        float(at), 600 - wobble, 3 + wobble / 50, 26 + wobble / 9, -12.2, 38.7,
        {"Rides": 22 + wobble / 31, "Stalls": None}, {"Rides": 22.7, "Stalls": 15.1, "Stands": 11.0},
        {"p05": 700 - wobble, "p50": 900 - wobble, "p95": None},
        1100 - wobble, 800.1 - wobble, "good", "good",
    )  # fmt: skip


def commits(kind, seconds, every_s=5, start=0):
    """What is put in between two commits, forecasts among it."""
    for second in range(start, start + seconds, every_s):
        items = list(packs(kind, every_s, second))
        if (AT + second) % 10 < every_s:
            items.append(forecast((AT + second) // 10 * 10 + 10))
        yield items
