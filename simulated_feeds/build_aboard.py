"""Builds the nodes aboard: one for each first part of a reading's name in the rig file, with the sensors it needs."""

from collections.abc import Callable, Iterator, Mapping
from random import Random
from typing import Any, cast

from simulated_feeds.aboard import Aboard
from simulated_feeds.build_world import chances
from simulated_feeds.flow_sensor import Counts, Meter
from simulated_feeds.level_sensor import LevelSensor, signal_of
from simulated_feeds.nodes import Air, Clock, Node
from simulated_feeds.pump_sensor import Ambient, Slope, Suction, Switch, Threshold, drawing, moving, running
from simulated_feeds.scenario import Scenario
from simulated_feeds.sensor import Instant, Sensor
from simulated_feeds.units import BadScenario, amount
from simulated_feeds.weather import Weather
from simulated_feeds.world import World

Table = Mapping[str, Any]
Says = Callable[[Instant], bool]


def build_aboard(scenario: Scenario, seed: int, world: World, weather: Weather, start_at: float) -> Aboard:
    """The nodes as they stand when the story begins. Raises BadScenario."""
    found: dict[str, list[Sensor]] = {}
    known = []
    for reading, sensor in _Fitter(scenario, seed, world, weather).sensors():
        known.append(reading)
        found.setdefault(reading.partition("/")[0], []).append(sensor)
    _check("sensor", scenario.tables.get("sensor", {}), known)
    _check("node", scenario.tables.get("node", {}), list(found))
    return Aboard([_node(scenario, seed, name, sensors, start_at) for name, sensors in found.items()], weather)


def _check(table: str, rows: Table, known: list[str]) -> None:
    for name in rows:
        if name not in known:
            raise BadScenario(f'[{table}."{name}"]: the rig has no such {table}, expected one of {", ".join(known)}')


def _node(scenario: Scenario, seed: int, name: str, sensors: list[Sensor], start_at: float) -> Node:
    row = scenario.tables.get("node", {}).get(name, {})
    air = Air(
        amount(row.get("delay", 0.02), f"[node.{name}] delay", "time"),
        float(row.get("loses", 0.0)), float(row.get("doubles", 0.0)), float(row.get("late", 0.0)),
    )
    error_s = amount(row.get("clock_error", 0.0), f"[node.{name}] clock_error", "time")
    clock = Clock(str(row.get("stamps", "none")), error_s)
    pack_s = amount(row.get("pack", min(sensor.every_s for sensor in sensors)), f"[node.{name}] pack", "time")
    ut_s = amount(row["ut"], f"[node.{name}] ut", "time") if "ut" in row else None
    return Node(name, sensors, chances(scenario, seed, f"node {name}"), pack_s, air, clock, start_at, ut_s)


class _Fitter:
    """Fits each reading that the rig file names with a sensor, set as the scenario says."""

    def __init__(self, scenario: Scenario, seed: int, world: World, weather: Weather) -> None:
        self._scenario = scenario
        self._seed = seed
        self._world = world
        self._weather = weather

    def sensors(self) -> Iterator[tuple[str, Sensor]]:
        rig = self._scenario.rig
        levels = rig["tank"]["level"]
        for row in levels if isinstance(levels, list) else [levels]:
            yield row["reading"], self._level(row)
        if "reading" in rig.get("supply", {}):
            yield rig["supply"]["reading"], self._meter(rig["supply"])
        for index, pump in enumerate(rig.get("pump", [])):
            yield from self._pump(index, pump)
        yield from self._extra(rig.get("extra", {}))

    def _pump(self, index: int, pump: Table) -> Iterator[tuple[str, Sensor]]:
        if "running" in pump:
            yield self._says(pump["running"], "running", running(index), index)
        if "drawing" in pump:
            yield self._says(pump["drawing"], "drawing", drawing(index), index)
        if "suction" in pump:
            reading = pump["suction"]
            common = self._common(reading, "suction", 1.0)
            yield reading, Suction(**common, pump=index, tank=self._world.tank, at=index)

    def _extra(self, extra: Table) -> Iterator[tuple[str, Sensor]]:
        weather = self._weather
        if "motion" in extra:
            yield self._says(extra["motion"], "motion", moving, None)
        if "slope" in extra:
            yield extra["slope"], Slope(**self._common(extra["slope"], "slope", 1.0))
        for key, of in (("air_temperature", weather.air_c), ("water_temperature", weather.water_c)):
            if key in extra:
                yield extra[key], Ambient(**self._common(extra[key], key, 10.0), of=of)
        if "barometer" in extra:
            common = self._common(extra["barometer"], "barometer", 10.0)
            yield extra["barometer"], Ambient(**common, of=weather.pressure_pa, unit="Pa", noise=5.0, step=1.0)

    def _set(self, reading: str) -> Table:
        return cast(Table, self._scenario.tables.get("sensor", {}).get(reading, {}))

    def _common(self, reading: str, role: str, every_s: float) -> dict[str, Any]:
        row = self._set(reading)
        return {
            "name": reading.partition("/")[2],
            "role": role,
            "rng": self._chances(reading),
            "every_s": amount(row.get("every", every_s), f'[sensor."{reading}"] every', "time"),
            "dropouts": float(row.get("dropouts", 0.0)),
        }

    def _chances(self, reading: str) -> Random:
        return chances(self._scenario, self._seed, f"sensor {reading}")

    def _level(self, rig_row: Table) -> LevelSensor:
        reading = rig_row["reading"]
        row = self._set(reading)
        signal = signal_of(rig_row, self._world.tank, self._weather)
        if "step" in row:
            signal.step = amount(row["step"], f'[sensor."{reading}"] step')

        def metres(key: str, default_m: float) -> float:
            return amount(row.get(key, default_m), f'[sensor."{reading}"] {key}')

        return LevelSensor(
            **self._common(reading, "level", 0.5),
            tank=self._world.tank,
            signal=signal,
            noise_m=metres("noise", 0.002),
            vibration=float(row.get("vibration", 0.2)),
            bias_m=metres("bias", 0.0),
            ahead_m=metres("ahead", amount(rig_row.get("ahead", 0.1))),
            slosh_share=float(row.get("slosh", 0.6)),
            zeros_after_boot=int(row.get("zeros_after_boot", 0)),
            strays=float(row.get("strays", 0.0003)),
        )

    def _meter(self, rig_row: Table) -> Meter:
        reading, measures = rig_row["reading"], rig_row.get("measures", "total")
        row = self._set(reading)
        per_l = amount(rig_row["k_factor"], "[supply] k_factor") if "k_factor" in rig_row else 10.0
        return Meter(
            **self._common(reading, "supply", 1.0),
            counts=cast(Counts, measures),
            unit=str(row.get("unit", "l/min" if measures == "rate" else "l")),
            gain=float(row.get("gain", 1.0)),
            cutoff_l_min=amount(row.get("cutoff", 0.8), f'[sensor."{reading}"] cutoff'),
            step_l=amount(row.get("step", 0.1), f'[sensor."{reading}"] step'),
            per_l=per_l,
            rolls_over_at=int(row.get("rolls_over_at", 2**32)),
            starts_l=amount(row.get("starts", 0.0), f'[sensor."{reading}"] starts'),
        )

    def _says(self, signal: Any, role: str, on: Says, pump: int | None) -> tuple[str, Sensor]:
        """A plain switch, or an amount where the rig file sets a threshold."""
        if isinstance(signal, str):
            return signal, Switch(**self._common(signal, role, 1.0), pump=pump, on=on)
        reading = signal["reading"]
        common = self._common(reading, role, 1.0)
        if "above" not in signal:
            return reading, Switch(**common, pump=pump, on=on)
        above, unit = _threshold(signal["above"])
        return reading, Threshold(**common, pump=pump, on=on, above=above, unit=unit)


def _threshold(text: str) -> tuple[float, str]:
    """The amount of a threshold and the unit its sensor sends."""
    unit = text.split()[-1]
    if unit in ("Hz", "rpm"):
        return float(text.split()[0]) / (60.0 if unit == "rpm" else 1.0), "Hz"
    return amount(text, "a threshold"), "Pa" if unit in ("psi", "kPa", "bar") else "l/min"
