"""What now? One answer, solved from the balance: which pumps the tap carries, how long to wait, what stopping buys.

An answer is a name and its figures (SI); the words are the pages' business.
"""

from collections.abc import Sequence
from itertools import combinations
from typing import Any, NamedTuple

HOLDS_L_MIN = 0.4  # closer to nothing than this, the water holds
SHORT_S = 600.0


class InUse(NamedTuple):
    """A pump that runs or has drawn within ten minutes, and what it takes (l/min)."""

    name: str
    rate_l_min: float


class Water(NamedTuple):
    volume_l: float
    heel_l: float
    band_low_l: float
    full_l: float
    inflow_l_min: float


class Advice(NamedTuple):
    say: str
    figures: dict[str, Any]


def carried(inflow_l_min: float, pumps: Sequence[InUse]) -> tuple[InUse, ...]:
    """The set of pumps that uses the tap best without outrunning it."""
    best: tuple[InUse, ...] = ()
    for many in range(1, len(pumps) + 1):
        for some in combinations(pumps, many):
            if _sum(best) < _sum(some) <= inflow_l_min + HOLDS_L_MIN:
                best = some
    return best


def advise(water: Water, pumps: Sequence[InUse]) -> Advice:
    """One line for the crew. `pumps`: those in use."""
    demand = _sum(pumps)
    if demand <= 0.0:
        return _at_rest(water)
    if water.inflow_l_min + HOLDS_L_MIN >= demand:
        return Advice("carries_all", {})
    if water.volume_l < water.band_low_l and water.inflow_l_min > HOLDS_L_MIN:
        wait_s = 60.0 * (water.band_low_l - water.volume_l) / water.inflow_l_min
        return Advice("wait_then", {"wait_s": wait_s, "volume_l": water.band_low_l})
    if water.inflow_l_min <= HOLDS_L_MIN:
        return Advice("no_supply", {"lasts_s": _lasts_s(water, demand)})
    return _slower(water, pumps, demand)


def _slower(water: Water, pumps: Sequence[InUse], demand: float) -> Advice:
    """The tap gives less than is drawn: say what to stop, or for what share of the time the pumps can draw."""
    keep = carried(water.inflow_l_min, pumps)
    if keep:
        stop = [p.name for p in pumps if p not in keep]
        return Advice("stop_to_hold", {"stop": stop, "keep": [p.name for p in keep], "volume_l": water.volume_l})
    most = max(pumps, key=lambda p: p.rate_l_min)
    rest = demand - most.rate_l_min
    if len(pumps) > 1 and _lasts_s(water, demand) < SHORT_S:
        gains = _lasts_s(water, rest) - _lasts_s(water, demand)
        return Advice("stop_buys", {"stop": [most.name], "gains_s": gains})
    return Advice("share", {"percent": 100.0 * water.inflow_l_min / demand})


def _at_rest(water: Water) -> Advice:
    if water.volume_l >= water.full_l:
        return Advice("full", {})
    if water.inflow_l_min > HOLDS_L_MIN:
        return Advice("filling", {"full_s": 60.0 * (water.full_l - water.volume_l) / water.inflow_l_min})
    return Advice("idle", {})


def _lasts_s(water: Water, demand: float) -> float:
    net = demand - water.inflow_l_min
    return 60.0 * max(0.0, water.volume_l - water.heel_l) / net


def _sum(pumps: Sequence[InUse]) -> float:
    return sum(p.rate_l_min for p in pumps)
