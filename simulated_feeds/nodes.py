"""A node aboard: gathers its sensors' samples into packs, counts them, reboots, and loses and regains its link."""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, inf
from random import Random
from typing import Any, NamedTuple

from simulated_feeds.sensor import Instant, Sensor

Record = dict[str, Any]
Look = Callable[[float], Instant]
_BACKLOG_PACKS = 1200  # what a small node can keep
_SPACING_S = 0.015


class Sent(NamedTuple):
    """Something a node sent. `at_s` is its arrival; `pack` is None where it is word of the node being up or gone."""

    at_s: float
    node: str
    pack: list[Record] | None
    alive: str | None = None


@dataclass
class Air:
    """What becomes of a node's packs on their way: shares lost, doubled and late, and the usual delay in s."""

    delay_s: float = 0.02
    loses: float = 0.0
    doubles: float = 0.0
    late: float = 0.0
    late_by_s: float = 8.0


@dataclass
class Clock:
    """A node's own clock: `stamps` is "none", or "absolute" where it stamps its packs; `error_s` how far it is off."""

    stamps: str = "none"
    error_s: float = 0.0


class Node:
    """Sends a pack every `pack_s` with what its sensors have sampled since the last."""

    def __init__(self, name: str, sensors: list[Sensor], rng: Random, pack_s: float, air: Air, clock: Clock,
                 start_at: float = 0.0, ut_s: float | None = None) -> None:
        self.name = name
        self.sensors = sensors
        self.air = air
        self.clock = clock
        self.reboots_every_s = inf
        self.boots_in_s = 4.0
        self._start_at = start_at
        self._ut_s = ut_s
        self._rng = rng
        self._pack_s = pack_s
        self._next_s = round(rng.uniform(0.0, min(pack_s, 1.0)), 3)
        self._booted_s = -round(rng.uniform(20.0, 400.0), 1)
        self._up_at_s = 0.0
        self._reboots_at_s = inf
        self._powered = True
        self._gone_at_s = inf
        self._kept: list[tuple[float, list[Record]]] | None = None
        self._arrived_s = 0.0
        self._seq = 0
        self._greets = True
        self._boots = False
        self._out: list[Sent] = []
        for sensor in sensors:
            sensor.next_s = self._next_s

    def send(self, until_s: float, look: Look) -> list[Sent]:
        """All that this node sends up to a time."""
        while self._next_s < until_s:
            self._tick(self._next_s, look)
            self._next_s = round(self._next_s + self._pack_s, 3)
        if self._gone_at_s < until_s:
            self._out.append(Sent(self._gone_at_s, self.name, None, "gone"))
            self._gone_at_s = inf
        out, self._out = self._out, []
        return out

    def skip(self, until_s: float, look: Look) -> None:
        """Nobody hears what it sends up to a time; its registers count on."""
        packs = max(0, ceil((until_s - self._next_s) / self._pack_s))
        self._next_s = round(self._next_s + packs * self._pack_s, 3)
        self._seq += packs
        for sensor in self.sensors:
            sensor.next_s += max(0, ceil((self._next_s - sensor.next_s) / sensor.every_s)) * sensor.every_s
            sensor.sample(look(until_s))

    def reboot(self, at_s: float, boots_in_s: float | None = None) -> None:
        """Starts again: counters and registers from zero, silent until it is up."""
        self._up_at_s = at_s + (self.boots_in_s if boots_in_s is None else boots_in_s)
        self._booted_s = self._up_at_s - 0.8
        self._greets = self._boots = True
        self._seq = 0

    def starts(self, at_s: float) -> bool:
        """It is about to come up, and silent until then."""
        return at_s < self._up_at_s

    def reboot_every(self, at_s: float, every_s: float) -> None:
        """From now on it keeps falling over; inf ends that."""
        self.reboots_every_s = every_s
        self._reboots_at_s = at_s + 2.0 if every_s < inf else inf

    def power(self, at_s: float, on: bool) -> None:
        """Loses its supply; its broker tells the world after a while. With power it boots."""
        if on and not self._powered:
            self.reboot(at_s)
            self._gone_at_s = inf
        elif not on and self._powered:
            self._gone_at_s = at_s + self._rng.uniform(6.0, 15.0)
        self._powered = on

    def link(self, at_s: float, on: bool) -> None:
        """Loses its radio link and keeps what it would have sent; with the link all of that comes in one burst."""
        if not on and self._kept is None:
            self._kept = []
            self._gone_at_s = at_s + self._rng.uniform(6.0, 15.0)
        elif on and self._kept is not None:
            kept, self._kept, self._gone_at_s = self._kept, None, inf
            self._out.append(Sent(at_s, self.name, None, "up"))
            for number, (packed_s, records) in enumerate(kept):
                arrives_s = at_s + 0.2 + number * _SPACING_S
                self._post(packed_s, arrives_s, arrives_s, records)

    def _tick(self, at_s: float, look: Look) -> None:
        if at_s >= self._reboots_at_s:
            self._reboots_at_s = at_s + self.reboots_every_s * self._rng.uniform(0.7, 1.3)
            self.reboot(at_s)
        if self._boots and at_s >= self._up_at_s:
            self._boots = False
            for sensor in self.sensors:
                sensor.reboot()
        records = [record for sensor in self.sensors for record in self._samples(sensor, at_s, look)]
        if not self._powered or self.starts(at_s):
            return
        if self._greets and self._kept is None:
            self._greet(at_s)
        self._seq += 1
        records.append({"n": "seq", "u": "count", "v": self._seq})
        records.append({"n": "uptime", "u": "s", "v": round(at_s - self._booted_s, 1)})
        if self._kept is None:
            self._travel(at_s, records)
        elif len(self._kept) < _BACKLOG_PACKS:
            self._kept.append((at_s, records))

    def _greet(self, at_s: float) -> None:
        """Connects anew: a broker that still held the old connection first tells of its end."""
        if self._booted_s > 0:
            self._out.append(Sent(at_s, self.name, None, "gone"))
        self._out.append(Sent(at_s, self.name, None, "up"))
        self._greets = False

    def _samples(self, sensor: Sensor, at_s: float, look: Look) -> list[Record]:
        records = []
        while sensor.next_s <= at_s + 1e-6:
            due_s = sensor.next_s
            sensor.next_s += sensor.every_s
            value = sensor.sample(look(due_s))
            if value is not None:
                record = {"n": sensor.name, **value}
                if at_s - due_s > 1e-3:
                    record["t"] = round(due_s - at_s, 3)
                if self._ut_s is not None:
                    record["ut"] = self._ut_s
                records.append(record)
        return records

    def _travel(self, at_s: float, records: list[Record]) -> None:
        air, rng = self.air, self._rng
        arrives_s = at_s + rng.expovariate(1 / air.delay_s)
        chance = rng.random()
        if chance < air.loses:
            return
        if chance > 1.0 - air.late:
            arrives_s += rng.uniform(0.2, 1.0) * air.late_by_s
        else:
            arrives_s = self._arrived_s = max(arrives_s, self._arrived_s)
        self._post(at_s, at_s, arrives_s, records)
        if air.doubles and rng.random() < air.doubles:
            self._post(at_s, at_s, arrives_s + rng.uniform(0.0, 0.5), records)

    def _post(self, packed_s: float, sent_s: float, arrives_s: float, records: list[Record]) -> None:
        """Writes the base name, and the time where the node's clock gives one or the pack is old when it is sent."""
        base: Record = {"bn": f"{self.name}/"}
        if self.clock.stamps == "absolute":
            base["bt"] = round(self._start_at + packed_s + self.clock.error_s, 3)
        elif sent_s - packed_s > 1e-3:
            base["bt"] = round(packed_s - sent_s, 3)
        self._out.append(Sent(arrives_s, self.name, [{**base, **records[0]}, *records[1:]]))
