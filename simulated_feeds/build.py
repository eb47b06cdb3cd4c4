"""Builds the world and its nodes from a scenario and a seed."""

from random import Random
from typing import Any

from simulated_feeds.crew import Foreman, GunHand, Phase, Ways
from simulated_feeds.habits import Times, habits
from simulated_feeds.nodes import Node
from simulated_feeds.place import Place
from simulated_feeds.pumps import Pump
from simulated_feeds.scenario import Scenario, Table
from simulated_feeds.sensors import Level, Meter, Sensor, Suction, Switch, Thermometer
from simulated_feeds.supply import FloatValve, Tap
from simulated_feeds.tank import Tank, build_tank
from simulated_feeds.units import BadScenario, amount
from simulated_feeds.weather import Weather
from simulated_feeds.world import Water, World


def _chances(scenario: Scenario, seed: int, part: str) -> Random:
    """A source of chance of its own for each part, so that one part's draws never shift another's."""
    return Random(f"{scenario.name}/{seed}/{part}")


def build_world(scenario: Scenario, seed: int) -> World:
    tables, rig = scenario.tables, scenario.rig
    tank = build_tank(rig["tank"]["shape"])
    tap = _tap(scenario, seed, tank)
    place = Place(tap, _chances(scenario, seed, "place"), float(tables.get("place", {}).get("steepness", 0.01)))
    pumps = [_pump(row, _hand_of(scenario, row["name"])) for row in rig.get("pump", [])]
    hands = [_gun_hand(scenario, seed, pump) for pump in pumps]
    heel_l, full_l = amount(rig["tank"]["heel"]), amount(rig["tank"].get("full", rig["tank"]["capacity"]))
    water = Water(
        volume_l=amount(tables.get("water", {}).get("start", full_l), "[water] start"),
        heel_l=heel_l,
        capacity_l=min(amount(rig["tank"]["capacity"]), tank.whole_l),
    )
    foreman = Foreman(_ways(scenario, heel_l, full_l), hands, place, _chances(scenario, seed, "foreman"))
    return World(tank, water, tap, pumps, hands, foreman, place)


def _tap(scenario: Scenario, seed: int, tank: Tank) -> Tap:
    table = scenario.tables.get("tap", {})
    valve = scenario.rig.get("supply", {}).get("float_valve")
    return Tap(
        amount(table.get("flow", "5 gpm"), "[tap] flow"),
        _chances(scenario, seed, "tap"),
        wander=float(table.get("wander", 0.02)),
        others_every_s=amount(table.get("others_every", 0.0), "[tap] others_every"),
        others_take=float(table.get("others_take", 0.25)),
        float_valve=FloatValve(
            tank.height_m(amount(valve["starts_closing"])), tank.height_m(amount(valve["shut"]))
        ) if valve else None,
    )


def _hand_of(scenario: Scenario, pump: str) -> Table:
    return next((row for row in scenario.tables.get("hand", []) if row.get("pump") == pump), {})


def _pump(row: Table, hand: Table) -> Pump:
    return Pump(
        row["name"],
        amount(hand.get("really_draws", row["draw"]), f"[[hand]] really_draws of {row['name']}"),
        bypass_to=row.get("bypass", {}).get("to", "inlet"),
        restricted=float(hand.get("restricted", 1.0)),
    )


def _gun_hand(scenario: Scenario, seed: int, pump: Pump) -> GunHand:
    row = _hand_of(scenario, pump.name)
    usual = Times(*(amount(row.get(key, default), f"[[hand]] {key} of {pump.name}") for key, default in (
        ("burst", 25.0), ("pause", 12.0), ("task", 480.0), ("away", 120.0))))
    family = scenario.tables.get("crew", {}).get("family", "tuning")
    if family not in ("tuning", "timetable", "heavy"):
        raise BadScenario(f'[crew] family: found "{family}", expected tuning, timetable or heavy')
    ways = habits(family, usual, float(row.get("spread", 0.7)), float(row.get("exponent", 1.4)))
    return GunHand(
        pump, ways, _chances(scenario, seed, f"hand {pump.name}"),
        idles_s=amount(row.get("idles", 60.0)),
        joins_s=amount(row.get("joins", 0.0)),
        soaps=float(row.get("soaps", 0.0)),
    )


def _ways(scenario: Scenario, heel_l: float, full_l: float) -> Ways:
    crew = scenario.tables.get("crew", {})
    looks_at = crew.get("looks_at")
    return Ways(
        resumes_at_l=amount(crew.get("resumes_at", heel_l + 0.5 * (full_l - heel_l)), "[crew] resumes_at"),
        looks_at_l=None if looks_at is None else amount(looks_at, "[crew] looks_at"),
        notices_s=amount(crew.get("notices", 30.0), "[crew] notices"),
        waits_at_most_s=amount(crew.get("waits_at_most", 3600.0), "[crew] waits_at_most"),
        plan=[Phase(name, amount(time, "[crew] day")) for name, time in crew.get("day", [["work", "24 h"]])],
    )


def build_nodes(scenario: Scenario, seed: int, world: World, weather: Weather) -> list[Node]:
    """One node for each first part of a reading's name in the rig file."""
    sensors: dict[str, list[Sensor]] = {}
    for reading, sensor in _sensors(scenario, seed, world, weather):
        sensors.setdefault(reading.partition("/")[0], []).append(sensor)
    return [
        Node(name, found, _chances(scenario, seed, f"node {name}"), pack_s=min(s.every_s for s in found))
        for name, found in sensors.items()
    ]


def _sensors(scenario: Scenario, seed: int, world: World, weather: Weather) -> list[tuple[str, Sensor]]:
    rig = scenario.rig
    found: list[tuple[str, Sensor]] = []

    def chances(reading: str) -> Random:
        return _chances(scenario, seed, f"sensor {reading}")

    levels = rig["tank"]["level"]
    for row in levels if isinstance(levels, list) else [levels]:
        found.append((row["reading"], _level(scenario, row["reading"], world.tank, weather, chances(row["reading"]))))
    if "supply" in rig:
        reading = rig["supply"]["reading"]
        set_as = _settings(scenario, reading)
        found.append((reading, Meter(_last(reading), chances(reading), gain=float(set_as.get("gain", 1.0)))))
    for index, pump in enumerate(rig.get("pump", [])):
        for what in ("running", "drawing"):
            if what in pump:
                found.append((pump[what], Switch(_last(pump[what]), what, index)))
        if "suction" in pump:
            found.append((pump["suction"], Suction(_last(pump["suction"]), world.tank, index, chances(pump["suction"]))))
    extra = rig.get("extra", {})
    if "motion" in extra:
        found.append((extra["motion"], Switch(_last(extra["motion"]), "motion")))
    for key in ("air_temperature", "water_temperature"):
        if key in extra:
            found.append((extra[key], Thermometer(_last(extra[key]), key[:-12], weather, chances(extra[key]))))
    return found


def _last(reading: str) -> str:
    return reading.partition("/")[2]


def _settings(scenario: Scenario, reading: str) -> Any:
    return scenario.tables.get("sensor", {}).get(reading, {})


def _level(scenario: Scenario, reading: str, tank: Tank, weather: Weather, rng: Random) -> Level:
    row = _settings(scenario, reading)
    return Level(
        _last(reading), tank, weather, rng,
        every_s=amount(row.get("every", 0.5)), noise_m=amount(row.get("noise", 0.002)),
        step=amount(row.get("step", 0.001)), offset_m=amount(row.get("offset", 0.1)),
        outliers=float(row.get("outliers", 0.0005)), dropouts=float(row.get("dropouts", 0.001)),
    )


def weather_of(scenario: Scenario) -> Weather:
    table = {key: amount(value, f"[weather] {key}") for key, value in scenario.tables.get("weather", {}).items()}
    return Weather(
        low_c=table.get("low", 14.0), high_c=table.get("high", 27.0), main_c=table.get("main", 14.0),
        begins_s=scenario.begins_s,
    )

