"""A node aboard: gathers its sensors' samples into packs, counts them, reboots, and loses and regains its link."""

from random import Random
from typing import Any, NamedTuple, Protocol

from simulated_feeds.sensors import Instant, Sensor

Record = dict[str, Any]


class Sent(NamedTuple):
    """Something a node sent. `at_s` is its arrival; `pack` is None where it is word of the node being up or gone."""

    at_s: float
    node: str
    pack: list[Record] | None
    alive: str | None = None


class Look(Protocol):
    """How a node's sensors see the world at a time."""

    def __call__(self, at_s: float) -> Instant: ...


class Node:
    """Sends one pack every `pack_s`, `latency_s` on its way, in order."""

    def __init__(self, name: str, sensors: list[Sensor], rng: Random, pack_s: float, latency_s: float = 0.02) -> None:
        self.name = name
        self.sensors = sensors
        self.linked = True
        self.powered = True
        self.keeps_backlog = False
        self._rng = rng
        self._pack_s = pack_s
        self._latency_s = latency_s
        self._first_s = round(rng.uniform(0.0, min(pack_s, 1.0)), 3)
        self._count = 0
        self._booted_s = -rng.uniform(20.0, 400.0)
        self._arrived_s = 0.0
        self._seq = 0
        self._greeted = False
        for sensor in sensors:
            sensor.next_s = self._first_s

    def send(self, until_s: float, look: Look) -> list[Sent]:
        """All that this node sends up to a time."""
        out = [] if self._greeted else [Sent(0.0, self.name, None, "up")]
        self._greeted = True
        while (at_s := self._first_s + self._count * self._pack_s) < until_s:
            self._count += 1
            if self.powered:
                out.append(self._pack(at_s, look))
        return out

    def _pack(self, at_s: float, look: Look) -> Sent:
        records: list[Record] = []
        for sensor in self.sensors:
            self._sample(sensor, at_s, look, records)
        self._seq += 1
        records.append({"n": "seq", "u": "count", "v": self._seq})
        records.append({"n": "uptime", "u": "s", "v": round(at_s - self._booted_s, 1)})
        records[0] = {"bn": f"{self.name}/", **records[0]}
        self._arrived_s = max(at_s + self._rng.expovariate(1 / self._latency_s), self._arrived_s)
        return Sent(self._arrived_s, self.name, records)

    def _sample(self, sensor: Sensor, at_s: float, look: Look, records: list[Record]) -> None:
        while sensor.next_s <= at_s + 1e-9:
            due = sensor.next_s if at_s - sensor.next_s < self._pack_s else at_s
            value = sensor.sample(look(due))
            sensor.next_s = max(sensor.next_s, due) + sensor.every_s
            if value is not None:
                record = {"n": sensor.name, **value}
                if at_s - due > 1e-3:
                    record["t"] = round(due - at_s, 3)
                records.append(record)
