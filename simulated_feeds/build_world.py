"""Builds the world from a scenario and a seed: water, tap, pumps and people."""

from collections.abc import Mapping
from random import Random
from typing import Any, cast

from simulated_feeds.chemical import ChemicalLine
from simulated_feeds.crew import Foreman, GunHand, Phase, Ways
from simulated_feeds.faults import due_of
from simulated_feeds.habits import Family, Times, habits
from simulated_feeds.misfortunes import MISFORTUNES, Misfortunes
from simulated_feeds.place import PhaseName, Place
from simulated_feeds.pumps import Pump
from simulated_feeds.scenario import Scenario
from simulated_feeds.supply import FloatValve, Main, Tap
from simulated_feeds.tank import Tank, build_tank
from simulated_feeds.units import BadScenario, amount
from simulated_feeds.weather import Weather
from simulated_feeds.world import Water, World

Table = Mapping[str, Any]
_PHASES = ("setup", "work", "break", "pack", "tow")


def chances(scenario: Scenario, seed: int, part: str) -> Random:
    """A source of chance of its own for each part, so that one part's draws never shift another's."""
    return Random(f"{scenario.name}/{seed}/{part}")


def build_world(scenario: Scenario, seed: int) -> World:
    """The world as it stands when the story begins. Raises BadScenario."""
    tables, rig = scenario.tables, scenario.rig
    sources: list[Random] = []

    def of(part: str) -> Random:
        sources.append(chances(scenario, seed, part))
        return sources[-1]

    tank = build_tank(tables.get("tank", rig["tank"]))
    tap = _tap(scenario, of("tap"), tank)
    steepness = amount(tables.get("place", {}).get("steepness", 0.01), "[place] steepness")
    place = Place(tap, of("place"), steepness)
    _check_hands(scenario)
    pumps = [_pump(row, _hand_of(scenario, row["name"])) for row in rig.get("pump", [])]
    hands = [_gun_hand(scenario, of(f"hand {pump.name}"), pump) for pump in pumps]
    heel_l = amount(rig["tank"]["heel"])
    full_l = amount(rig["tank"].get("full", rig["tank"]["capacity"]))
    water = Water(
        volume_l=_start_l(tables, full_l, tank.whole_l),
        heel_l=heel_l,
        capacity_l=min(amount(rig["tank"]["capacity"]), tank.whole_l),
    )
    foreman = Foreman(_ways(scenario, heel_l, full_l), hands, place, of("foreman"))
    due = [each for each in due_of(tables.get("fault", [])) if each.what in MISFORTUNES]
    return World(tank, water, tap, pumps, hands, foreman, place, Misfortunes(due), _lines(scenario), sources)


def _start_l(tables: Table, full_l: float, whole_l: float) -> float:
    start_l = amount(tables.get("water", {}).get("start", full_l), "[water] start", "volume")
    if not 0.0 <= start_l <= whole_l:
        raise BadScenario(f"[water] start: found {start_l:.0f} L, expected what the tank holds, 0 to {whole_l:.0f} L")
    return start_l


def build_weather(scenario: Scenario) -> Weather:
    """The day's weather."""
    table = {key: amount(value, f"[weather] {key}") for key, value in scenario.tables.get("weather", {}).items()}
    return Weather(
        low_c=table.get("low", 14.0),
        high_c=table.get("high", 27.0),
        main_c=table.get("main", 14.0),
        begins_s=scenario.begins_s,
    )


def _tap(scenario: Scenario, rng: Random, tank: Tank) -> Tap:
    table = scenario.tables.get("tap", {})
    valve = scenario.rig.get("supply", {}).get("float_valve")
    main = Main(
        amount(table.get("flow", "5 gpm"), "[tap] flow", "flow"),
        wander=float(table.get("wander", 0.02)),
        others_every_s=amount(table.get("others_every", 0.0), "[tap] others_every", "time"),
        others_take=float(table.get("others_take", 0.25)),
        kinks_every_s=amount(table.get("kinks_every", 0.0), "[tap] kinks_every", "time"),
        sites_differ=float(table.get("sites_differ", 0.25)),
    )
    marks = [tank.height_m(amount(valve[key])) for key in ("starts_closing", "shut")] if valve else []
    return Tap(main, rng, FloatValve(*marks) if marks else None)


def _hand_of(scenario: Scenario, pump: str) -> Table:
    return next((row for row in scenario.tables.get("hand", []) if row.get("pump") == pump), {})


def _check_hands(scenario: Scenario) -> None:
    names = [row["name"] for row in scenario.rig.get("pump", [])]
    for row in scenario.tables.get("hand", []):
        if row.get("pump") not in names:
            raise BadScenario(f'[[hand]] pump: found "{row.get("pump")}", expected one of {", ".join(names)}')


def _pump(row: Table, hand: Table) -> Pump:
    return Pump(
        row["name"],
        amount(hand.get("really_draws", row.get("draw", "5.5 gpm")), f"[[hand]] really_draws of {row['name']}", "flow"),
        bypass_to=row.get("bypass", {}).get("to", "inlet"),
        restricted=float(hand.get("restricted", 1.0)),
    )


def _gun_hand(scenario: Scenario, rng: Random, pump: Pump) -> GunHand:
    row = _hand_of(scenario, pump.name)

    def time_s(key: str, default_s: float) -> float:
        return amount(row.get(key, default_s), f"[[hand]] {key} of {pump.name}", "time")

    usual = Times(time_s("burst", 25.0), time_s("pause", 12.0), time_s("task", 480.0), time_s("away", 120.0))
    family = scenario.tables.get("crew", {}).get("family", "tuning")
    if family not in ("tuning", "timetable", "heavy"):
        raise BadScenario(f'[crew] family: found "{family}", expected tuning, timetable or heavy')
    return GunHand(
        pump,
        habits(cast(Family, family), usual, float(row.get("spread", 0.7)), float(row.get("exponent", 1.4))),
        rng,
        idles_s=time_s("idles", 60.0),
        joins_s=time_s("joins", 0.0),
        soaps=float(row.get("soaps", 0.0)),
    )


def _ways(scenario: Scenario, heel_l: float, full_l: float) -> Ways:
    crew = scenario.tables.get("crew", {})
    looks_at, reacts = crew.get("looks_at"), crew.get("reacts")
    return Ways(
        resumes_at_l=amount(crew.get("resumes_at", heel_l + 0.5 * (full_l - heel_l)), "[crew] resumes_at", "volume"),
        looks_at_l=None if looks_at is None else amount(looks_at, "[crew] looks_at", "volume"),
        notices_s=amount(crew.get("notices", 30.0), "[crew] notices", "time"),
        waits_at_most_s=amount(crew.get("waits_at_most", 3600.0), "[crew] waits_at_most", "time"),
        reacts_s=None if reacts is None else amount(reacts, "[crew] reacts", "time"),
        spread=float(crew.get("day_spread", 0.0)),
        plan=[_phase(name, time) for name, time in crew.get("day", [["work", "24 h"]])],
    )


def _phase(name: str, time: object) -> Phase:
    if name not in _PHASES:
        raise BadScenario(f'[crew] day: found "{name}", expected one of {", ".join(_PHASES)}')
    return Phase(cast(PhaseName, name), amount(time, f"[crew] day, {name}", "time"))


def _lines(scenario: Scenario) -> list[ChemicalLine]:
    return [
        ChemicalLine(
            row["pump"],
            amount(row.get("holds", "5 gal"), "[[chemical]] holds", "volume"),
            amount(row.get("injects", "0.3 gpm"), "[[chemical]] injects", "flow"),
            amount(row.get("hose", "0.86 gal"), "[[chemical]] hose", "volume"),
        )
        for row in scenario.tables.get("chemical", [])
    ]
