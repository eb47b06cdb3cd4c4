"""The nodes and sensors aboard one rig, and what can go wrong with them."""

from collections.abc import Callable, Mapping
from math import inf
from typing import Any, TypeVar

from simulated_feeds.flow_sensor import Meter
from simulated_feeds.level_sensor import LevelSensor
from simulated_feeds.nodes import Node
from simulated_feeds.pump_sensor import Says
from simulated_feeds.sensor import Sensor
from simulated_feeds.units import BadScenario, amount
from simulated_feeds.weather import Weather

Params = Mapping[str, Any]
S = TypeVar("S", bound=Sensor)


class Aboard:
    """All that measures and sends. `now_s` is the time at which a fault is being set or cleared."""

    def __init__(self, nodes: list[Node], weather: Weather) -> None:
        self.nodes = nodes
        self.weather = weather
        self.now_s = 0.0

    def sensors(self, kind: type[S], params: Params) -> list[S]:
        """The sensors of a kind, or the one whose `reading` is named; the first node's come first."""
        named = params.get("reading")
        found = [(node, sensor) for node in self.nodes for sensor in node.sensors if isinstance(sensor, kind)]
        chosen = [sensor for node, sensor in found if named in (None, f"{node.name}/{sensor.name}")]
        if named is not None and not chosen:
            known = ", ".join(f"{node.name}/{sensor.name}" for node, sensor in found) or "none aboard"
            raise BadScenario(f'[[fault]] reading: found "{named}", expected one of {known}')
        return chosen

    def node(self, params: Params) -> Node:
        """The node named, or the first."""
        named = params.get("node", self.nodes[0].name)
        for node in self.nodes:
            if node.name == named:
                return node
        known = ", ".join(node.name for node in self.nodes)
        raise BadScenario(f'[[fault]] node: found "{named}", expected one of {known}')


def level_stuck(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(LevelSensor, params):
        sensor.ills.stuck = on
        sensor.ills.trembles = bool(params.get("trembles", False))


def level_lost(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(LevelSensor, params):
        sensor.ills.lost = on


def level_drifts(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(LevelSensor, params)[:1]:
        sensor.ills.drift_per_h = amount(params.get("by", "60 mm/h"), "[[fault]] by") if on else 0.0
        sensor.ills.drifts_from_s = aboard.now_s


def level_jumps(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(LevelSensor, params)[:1]:
        sensor.ills.shift = amount(params.get("by", "80 mm"), "[[fault]] by") if on else 0.0


def false_echo(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(LevelSensor, params)[:1]:
        at_m = amount(params.get("height", 0.7 * sensor.tank.top_m), "[[fault]] height")
        sensor.ills.echo_m = at_m if on else None


def level_out_of_range(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(LevelSensor, params)[:1]:
        sensor.ills.out_of_range = on


def meter_dead(aboard: Aboard, on: bool, params: Params) -> None:
    """It counts nothing more; its node goes on sending the old register, or a rate of nothing."""
    for sensor in aboard.sensors(Meter, params):
        sensor.ills.gain = 0.0 if on else 1.0


def meter_stuck(aboard: Aboard, on: bool, params: Params) -> None:
    """It repeats what it said last: the same register, the same rate."""
    for sensor in aboard.sensors(Meter, params):
        sensor.ills.stuck = on


def meter_slips(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(Meter, params):
        sensor.ills.gain = float(params.get("to", 0.6)) if on else 1.0


def meter_over_reads(aboard: Aboard, on: bool, params: Params) -> None:
    meter_slips(aboard, on, {"to": 1.35, **params})


def meter_lost(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(Meter, params):
        sensor.ills.lost = on


def meter_reset(aboard: Aboard, on: bool, params: Params) -> None:
    """Its register falls to zero without a word."""
    for sensor in aboard.sensors(Meter, params):
        if on:
            sensor.reboot()


def meter_jumps(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(Meter, params):
        if on:
            sensor.jump(amount(params.get("by", "150 l"), "[[fault]] by"))


def signal_stuck(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(Says, params)[:1]:
        sensor.ills.stuck = on


def reading_lost(aboard: Aboard, on: bool, params: Params) -> None:
    for sensor in aboard.sensors(Sensor, params):
        sensor.ills.lost = on


def node_reboots(aboard: Aboard, on: bool, params: Params) -> None:
    every_s = amount(params.get("every", "3 min"), "[[fault]] every")
    aboard.node(params).reboot_every(aboard.now_s, every_s if on else inf)


def node_lost(aboard: Aboard, on: bool, params: Params) -> None:
    aboard.node(params).power(aboard.now_s, not on)


def backlog(aboard: Aboard, on: bool, params: Params) -> None:
    aboard.node(params).link(aboard.now_s, not on)


def clock_wrong(aboard: Aboard, on: bool, params: Params) -> None:
    node = aboard.node(params)
    node.clock.stamps = "absolute" if on else "none"
    node.clock.error_s = amount(params.get("by", "90 s"), "[[fault]] by") if on else 0.0


def lossy_air(aboard: Aboard, on: bool, params: Params) -> None:
    for node in aboard.nodes:
        node.air.loses = float(params.get("loses", 0.1)) if on else 0.0
        node.air.doubles = float(params.get("doubles", 0.05)) if on else 0.0
        node.air.late = float(params.get("late", 0.02)) if on else 0.0


def freezing(aboard: Aboard, on: bool, params: Params) -> None:
    aboard.weather.shift_c = -float(params.get("by", 18.0)) if on else 0.0


Mishap = Callable[[Aboard, bool, Params], None]
MISHAPS: dict[str, Mishap] = {
    "level-stuck": level_stuck,
    "level-lost": level_lost,
    "level-drifts": level_drifts,
    "level-jumps": level_jumps,
    "false-echo": false_echo,
    "level-out-of-range": level_out_of_range,
    "meter-dead": meter_dead,
    "meter-stuck": meter_stuck,
    "meter-slips": meter_slips,
    "meter-over-reads": meter_over_reads,
    "meter-lost": meter_lost,
    "meter-reset": meter_reset,
    "meter-jumps": meter_jumps,
    "signal-stuck": signal_stuck,
    "reading-lost": reading_lost,
    "node-reboots": node_reboots,
    "node-lost": node_lost,
    "backlog": backlog,
    "clock-wrong": clock_wrong,
    "lossy-air": lossy_air,
    "freezing": freezing,
}
