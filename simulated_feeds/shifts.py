"""Shifts drawn at random, for benchmarks and campaigns: a rig, a site, a crew and perhaps faults, all from one seed.

The same seed and family give the same rig, site and crew whatever sensors are aboard and whatever goes wrong with
them, so that shifts can be compared.
"""

from random import Random
from typing import Any

from simulated_feeds.habits import Family
from simulated_feeds.random_faults import random_faults
from simulated_feeds.random_rig import SENSORS, RandomRig, Sensors, random_rig, rig_text
from simulated_feeds.scenario import make_scenario
from simulated_feeds.story import DEFAULT_START_AT, Story
from simulated_feeds.units import BadScenario

_GPM = 3.785
FAMILIES: tuple[Family, ...] = ("tuning", "timetable", "heavy")


def random_shift(
    seed: int,
    family: Family = "tuning",
    sensors: str = "mixed",
    fault: str | None = None,
    hours: float = 8.0,
    start_at: float = DEFAULT_START_AT,
) -> Story:
    """A shift in which nobody reacts to warnings.

    `sensors` is "level", "level+meter", "running" or "drawing" (each with all before it), or "mixed"; `fault` is None,
    the name of a fault, or "mixed" (a fault in 46 of 100 shifts). Raises BadScenario.
    """
    if family not in FAMILIES:
        raise BadScenario(f'family: found "{family}", expected one of {", ".join(FAMILIES)}')
    name = f"shift-{family}-{seed}"
    rig = random_rig(Random(f"{name}/rig"))
    aboard = _aboard(sensors, Random(f"{name}/aboard"))
    tables: dict[str, Any] = {
        "title": f"Random shift {seed}, {family} crew, {aboard}",
        "begins": "07:30",
        "hours": hours,
        "seed": seed,
        **_site(Random(f"{name}/site"), rig),
        **_crew(Random(f"{name}/crew"), rig, family, hours),
        "sensor": _settings(Random(f"{name}/settings"), rig, aboard),
    }
    tables["place"] = {"steepness": round(0.012 / abs(rig.ahead_m) * Random(f"{name}/tilt").uniform(0.5, 1.5), 4)}
    tables["fault"] = random_faults(Random(f"{name}/faults"), rig, aboard, hours, fault)
    return Story(make_scenario(name, tables, rig_text(rig, aboard, name)), seed, start_at)


def _aboard(sensors: str, rng: Random) -> Sensors:
    drawn = rng.choice(SENSORS)
    if sensors == "mixed":
        return drawn
    for known in SENSORS:
        if sensors == known:
            return known
    raise BadScenario(f'sensors: found "{sensors}", expected mixed or one of {", ".join(SENSORS)}')


def _site(rng: Random, rig: RandomRig) -> dict[str, Any]:
    busy, kinks = rng.random() < 0.5, rng.random() < 0.25
    cold = rng.uniform(2.0, 20.0)
    return {
        "water": {"start": rig.heel_l + rng.uniform(0.3, 1.0) * (rig.full_l - rig.heel_l)},
        "tap": {
            "flow": min(rng.uniform(3.0, 8.0) * _GPM, rng.uniform(0.35, 0.7) * sum(rig.rates_l_min)),
            "wander": rng.uniform(0.01, 0.05),
            "others_every": rng.uniform(1200, 5400) if busy else 0.0,
            "others_take": rng.uniform(0.1, 0.5),
            "kinks_every": rng.uniform(3600, 14400) if kinks else 0.0,
        },
        "weather": {"low": cold, "high": cold + rng.uniform(6.0, 15.0), "main": rng.uniform(8.0, 18.0)},
    }


def _crew(rng: Random, rig: RandomRig, family: Family, hours: float) -> dict[str, Any]:
    usable_l = rig.full_l - rig.heel_l
    crew = {
        "family": family,
        "resumes_at": rig.heel_l + rng.uniform(0.3, 0.8) * usable_l,
        "notices": rng.uniform(8.0, 45.0),
        "day_spread": 0.0 if family == "timetable" else 0.25,
        "day": _day(rng, hours),
    }
    return {"crew": crew, "hand": [_hand(rng, rig, i) for i in range(len(rig.names))]}


def _hand(rng: Random, rig: RandomRig, i: int) -> dict[str, Any]:
    late, soaps = rng.random() < 0.25, rng.random() < 0.3
    return {
        "pump": rig.names[i],
        "really_draws": rig.rates_l_min[i],
        "burst": rng.uniform(10.0, 100.0),
        "pause": rng.uniform(4.0, 25.0),
        "task": rng.uniform(200.0, 900.0),
        "away": rng.uniform(40.0, 240.0),
        "idles": rng.uniform(20.0, 120.0),
        "spread": rng.uniform(0.5, 0.9),
        "exponent": rng.uniform(1.1, 1.7),
        "joins": rng.uniform(1200.0, 7200.0) if late and i > 0 else 0.0,
        "restricted": rng.uniform(0.5, 0.85) if soaps else 1.0,
        "soaps": rng.uniform(0.1, 0.4) if soaps else 0.0,
    }


def _day(rng: Random, hours: float) -> list[list[Any]]:
    """Customers one after another, with breaks between and moves in between."""
    day: list[list[Any]] = []
    left_s = hours * 3600.0 * 1.3
    while left_s > 0:
        stay: list[list[Any]] = [["setup", rng.uniform(120, 480)], ["work", rng.uniform(2400, 7200)]]
        if rng.random() < 0.7:
            stay += [["break", rng.uniform(480, 1800)], ["work", rng.uniform(1800, 5400)]]
        stay += [["pack", rng.uniform(120, 420)], ["tow", rng.uniform(300, 1500)]]
        left_s -= sum(time_s for _, time_s in stay)
        day += stay
    return day


def _settings(rng: Random, rig: RandomRig, aboard: Sensors) -> dict[str, Any]:
    level = {
        "every": rng.choice((0.2, 0.5, 1.0, 1.0, 2.0)),
        "noise": rng.uniform(0.001, 0.005),
        "bias": rng.gauss(0.0, 0.002),
        "ahead": rig.ahead_m,
        "slosh": rng.uniform(0.2, 1.0),
        "vibration": rng.uniform(0.0, 0.5),
        "strays": rng.choice((0.0, 0.0003, 0.002)),
        "dropouts": rng.choice((0.0, 0.001, 0.01)),
    }
    meter = {
        "gain": rng.gauss(1.0, 0.015),
        "cutoff": rng.uniform(0.3, 1.5),
        "step": rng.choice((0.01, 0.1, 1.0)),
        "every": rng.choice((1.0, 2.0, 5.0)),
        "starts": rng.choice((0.0, rng.uniform(100, 60_000))),
    }
    settings: dict[str, Any] = {"tank/level": level}
    if rig.second_level:
        settings["aft/level"] = {**level, "ahead": -rig.ahead_m, "bias": rng.gauss(0.0, 0.002)}
    if aboard != "level":
        settings["inlet/flow"] = meter
    return settings
