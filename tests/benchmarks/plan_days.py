"""The plan against the simulated world: does its range hold the minutes worked before the first wait?

    python -m tests.benchmarks.plan_days [--days 200] [--seed-from 1] [--known 5]

Each day is four hours of work and its breaks at one place, by a rig, a site and a crew drawn at random. The plan
knows the rig file, a bucket's time at the tank's end of the hose, the water at the start, and how long work and
breaks are meant to last; it is asked twice, with nothing known of the crew's triggers (the stated guess alone), and
after `--known` other days of that crew.
"""

import argparse
from collections.abc import Sequence
from math import inf
from random import Random
from statistics import median
from typing import Any, NamedTuple

from monitor.planning import day, supply
from monitor.rig.load import parse
from monitor.rig.model import Rig
from simulated_feeds.build_world import build_world
from simulated_feeds.scenario import Scenario, make_scenario
from simulated_feeds.shifts import FAMILIES, random_shift
from simulated_feeds.world import Segment, World

BUCKET_L = 19.0
THUMB_S = 0.4
WORK_S = 4 * 3600.0
LONGEST_S = 12 * 3600.0
BEFORE = ("work", "break", "wait")


class Outcome(NamedTuple):
    """Minutes worked before the first wait (inf: none came), and what the plan said of them."""

    family: str
    truth_s: float
    guessed: day.Range
    known: day.Range


def main() -> None:
    said = _arguments()
    outcomes = [_outcome(said.seed_from + n, FAMILIES[n % len(FAMILIES)], said.known) for n in range(said.days)]
    for line in table(outcomes, said.known):
        print(line)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.plan_days", description="Benchmark the plan.")
    parser.add_argument("--days", type=int, default=200)
    parser.add_argument("--seed-from", type=int, default=1)
    parser.add_argument("--known", type=int, default=5, help="other days of the crew that were seen")
    return parser.parse_args()


def _outcome(seed: int, family: str, known: int) -> Outcome:
    shift = random_shift(seed, family, "drawing")  # type: ignore[arg-type]
    scenario, rig = _one_place(shift.scenario), parse(shift.rig_toml)
    seen = [_shares(_lived(build_world(scenario, 1_000_000 + 1000 * seed + n)), rig) for n in range(known)]
    world = build_world(scenario, seed)
    tap = _bucket(world, Random(seed))
    water_l = world.water.volume_l
    guessed = _planned(scenario, rig, tap, water_l, [])
    learned = _planned(scenario, rig, tap, water_l, seen)
    return Outcome(family, _worked_s(_lived(world)), guessed, learned)


def _one_place(scenario: Scenario) -> Scenario:
    """The day's work and breaks at one place, up to so much work."""
    stay: list[list[Any]] = []
    for name, time_s in scenario.tables["crew"]["day"]:
        left_s = WORK_S - sum(lasts for phase, lasts in stay if phase == "work")
        if name in ("work", "break") and left_s > 0.0:
            stay.append([name, min(time_s, left_s) if name == "work" else time_s])
    tables = scenario.tables | {"crew": scenario.tables["crew"] | {"day": stay}}
    return make_scenario(scenario.name, tables, scenario.rig_toml)


def _lived(world: World) -> list[Segment]:
    """What happened until the work was done."""
    until_s = 0.0
    while until_s < LONGEST_S and (until_s == 0.0 or world.segments[-1].phase in BEFORE):
        until_s += 300.0
        world.run_to(until_s)
    return [segment for segment in world.segments if segment.phase in BEFORE]


def _worked_s(lived: Sequence[Segment]) -> float:
    worked_s = 0.0
    for segment in lived:
        if segment.phase == "wait":
            return worked_s
        if segment.phase == "work":
            worked_s += segment.end_s - segment.start_s
    return inf


def _shares(lived: Sequence[Segment], rig: Rig) -> list[day.Worked]:
    """Of each pump, water drawn at work as a share of what its nominal draw would have taken all the time."""
    work = [segment for segment in lived if segment.phase == "work"]
    worked_s = max(60.0, sum(segment.end_s - segment.start_s for segment in work))
    return [
        day.Worked(sum(s.draw_l_min[i] * (s.end_s - s.start_s) for s in work) / (pump.draw_l_min * worked_s), worked_s)
        for i, pump in enumerate(rig.pumps)
    ]


def _bucket(world: World, rng: Random) -> supply.Tap:
    """A bucket held once under the open hose, before the day begins."""
    time_s = 60.0 * BUCKET_L * (1.0 + rng.gauss(0.0, supply.BUCKET_MARK)) / world.tap.inflow_l_min(0.0)
    return supply.bucket(BUCKET_L, [time_s + rng.gauss(0.0, THUMB_S)])


def _planned(
    scenario: Scenario, rig: Rig, tap: supply.Tap, water_l: float, seen: Sequence[Sequence[day.Worked]]
) -> day.Range:
    crew, tank = scenario.tables["crew"], rig.tank
    valve = rig.supply.float_valve if rig.supply else None
    vessel = day.Vessel(
        tank.heel_l, crew["resumes_at"], valve.starts_closing_l if valve else tank.capacity_l,
        valve.shut_l if valve else tank.capacity_l,
    )  # fmt: skip
    spread = day.SEEN_SPREAD if seen else day.DRAW_SPREAD  # what was seen is a share of the nominal draw
    guns = [
        day.Gun(pump.name, pump.draw_l_min, spread * pump.draw_l_min,
                day.learned("mixed", [shares[i] for shares in seen]))
        for i, pump in enumerate(rig.pumps)
    ]  # fmt: skip
    stretches = [day.Stretch(name == "work", time_s) for name, time_s in crew["day"]]
    return day.plan(water_l, tap, guns, vessel, stretches).worked_s


def held(truth_s: float, said: day.Range) -> bool:
    """A bound of None lies beyond the day."""
    low_s, high_s = (inf if bound is None else bound for bound in (said.low, said.high))
    return low_s <= truth_s <= high_s


def table(outcomes: Sequence[Outcome], known: int) -> list[str]:
    waited = [each for each in outcomes if each.truth_s < inf]
    lines = [f"{len(outcomes)} days, {len(waited)} with a wait, the first after {_usual(waited)} of work in the middle"]
    for name, said in (("stated guess alone", "guessed"), (f"after {known} days of this crew", "known")):
        for family in ("all", *FAMILIES):
            some = [each for each in outcomes if family in ("all", each.family)]
            ok = [held(each.truth_s, getattr(each, said)) for each in some]
            early = sum(each.truth_s < _low(getattr(each, said)) for each in some)
            late = len(some) - sum(ok) - early
            open_ = sum(getattr(each, said).high is None for each in some)
            lines.append(
                f"{name:<28} {family:<10} held {sum(ok)} of {len(some)} ({sum(ok) / len(some):.1%}), "
                f"too early {early}, too late {late}; upper bound beyond the day {open_}, so a range that is right "
                f"would hold {_right(some, said):.1%}"
            )
    return lines


def _right(outcomes: Sequence[Outcome], said: str) -> float:
    """How many a range of 90 % would hold that is exactly right.

    A day in twenty falls short of the lower bound and one goes past the upper; but no day can go past a bound that
    lies beyond its end.
    """
    closed = sum(getattr(each, said).high is not None for each in outcomes)
    return 1.0 - 0.05 - 0.05 * closed / len(outcomes)


def _low(said: day.Range) -> float:
    return inf if said.low is None else said.low


def _usual(waited: Sequence[Outcome]) -> str:
    return f"{median([each.truth_s for each in waited]) / 60.0:.0f} min" if waited else "none"


if __name__ == "__main__":
    main()
