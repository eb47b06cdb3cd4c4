"""What the core has learned that a day's plan begins with: the water, the tap, the draws, the share of trigger time."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from monitor.core.core import Core
from monitor.forecast.habits import TriggerHabit
from monitor.planning.day import Worked
from monitor.planning.supply import Tap

AN_HOUR_S = 3600.0
LEAST_SEEN_S = 120.0
LEAST_OFF = 0.1  # a tap seen for minutes is known to a tenth at best: the day has hours
NORMAL_90 = 3.29  # standard deviations between the bounds that nine of ten keep to


class Basis(NamedTuple):
    """None where nothing is known. `seen`: an hour of each pump's trigger counts as one day seen."""

    volume_l: float | None
    tap: Tap | None
    draws_l_min: dict[str, float]
    seen: dict[str, list[Worked]]
    sites: Mapping[str, Tap] = {}
    extra_m: Mapping[str, float] = {}
    """Hose added to each pump's own."""


def basis(core: Core) -> Basis:
    belief = core.balance.belief
    names = [pump.name for pump in core.pumps]
    draws = {} if belief is None else dict(zip(names, belief.rates_l_min, strict=True))
    seen = {name: _hours(trigger) for name, trigger in zip(names, core.crew.triggers, strict=True)}
    extra_m = {name: line.extra_m for name, line in core.soaping.lines.items()}
    volume_l = None if belief is None else belief.volume_l
    return Basis(volume_l, _tap(core), draws, seen, site_taps(core.jobs.sites), extra_m)


def site_taps(sites: Mapping[str, Mapping[str, Any]]) -> dict[str, Tap]:
    """Each site's tap as it was seen there, over all hours of the day; the latest visited first."""
    taps = {name: _seen_tap(site.get("hours", {})) for name, site in reversed(list(sites.items()))}
    return {name: tap for name, tap in taps.items() if tap is not None}


def _seen_tap(hours: Mapping[str, tuple[float, float, float, float]]) -> Tap | None:
    """Hours count by how long they were seen; the spread is that between hours, a tenth at least."""
    seen_s = sum(each[0] for each in hours.values())
    if seen_s < LEAST_SEEN_S:
        return None
    mean = sum(each[0] * each[1] for each in hours.values()) / seen_s
    apart = max(each[1] for each in hours.values()) - min(each[1] for each in hours.values())
    return Tap(mean, max(apart / NORMAL_90, LEAST_OFF * mean), "record")


def _tap(core: Core) -> Tap | None:
    tap = core.balance.tap
    if tap.l_min is None:
        return None
    low, high = tap.low_l_min, tap.high_l_min
    apart = 0.0 if low is None or high is None else (high - low) / NORMAL_90
    return Tap(tap.l_min, max(apart, LEAST_OFF * tap.l_min), "record")


def _hours(trigger: TriggerHabit) -> list[Worked]:
    held_s, all_s = sum(trigger.on.seen), sum(trigger.on.seen) + sum(trigger.off.seen)
    return [Worked(held_s / all_s, AN_HOUR_S)] * int(all_s / AN_HOUR_S) if all_s else []
