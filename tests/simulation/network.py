"""A broker, the air between it and everybody, and a client that is used as paho's is."""

import asyncio
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from random import Random
from typing import Any

from paho.mqtt.client import MQTTMessage, topic_matches_sub
from paho.mqtt.enums import MQTTErrorCode
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.reasoncodes import ReasonCode

SUCCESS = MQTTErrorCode.MQTT_ERR_SUCCESS
LOST = MQTTErrorCode.MQTT_ERR_CONN_LOST
SILENT = MQTTErrorCode.MQTT_ERR_KEEPALIVE
KEEP_ALIVE_S = 15.0
is_for = lru_cache(maxsize=None)(topic_matches_sub)
"""Subscription, topic: few pairs, asked hundreds of thousands of times in a life."""


@dataclass
class Air:
    """What becomes of messages from the nodes: shares lost, doubled and late, and the usual delay in s."""

    loses: float = 0.0
    doubles: float = 0.0
    late: float = 0.0
    late_by_s: float = 4.0
    delay_s: float = 0.01


class Broker:
    """One broker. Who is connected hears what he has subscribed to; what is retained is heard on subscribing."""

    def __init__(self, loop: asyncio.AbstractEventLoop, rng: Random) -> None:
        self.loop, self.rng = loop, rng
        self.air = Air()
        self.up = True
        self.cut = False
        """Nothing gets through to the daemon, and nobody is told."""
        self.up_since_s = 0.0
        self.retained: dict[str, bytes] = {}
        self.clients: list[Client] = []
        self.heard: list[Callable[[str, bytes, bool], None]] = []
        """Whoever else listens: topic, payload, retained."""

    def client(self, *_: Any) -> "Client":
        return Client(self)

    def stop(self, forgets: bool) -> None:
        """Everybody's connection ends; wills are of no use when there is nobody to tell."""
        self.up = False
        for client in self.clients:
            client.ended = LOST
        self.clients.clear()
        if forgets:
            self.retained.clear()

    def start(self) -> None:
        self.up, self.up_since_s = True, self.loop.time()

    def from_node(self, topic: str, payload: bytes, retain: bool = False) -> None:
        """A node publishes; it comes when the air lets it."""
        air, rng = self.air, self.rng
        if not self.up or rng.random() < air.loses:
            return
        for _ in range(1 + (rng.random() < air.doubles)):
            late_s = rng.uniform(0.2, 1.0) * air.late_by_s if rng.random() < air.late else 0.0
            self.loop.call_later(late_s + rng.expovariate(1 / air.delay_s), self.publish, topic, payload, retain)

    def publish(self, topic: str, payload: bytes, retain: bool) -> None:
        if not self.up:
            return
        if retain:
            self.retained[topic] = payload
            if not payload:
                del self.retained[topic]
        for listener in self.heard:
            listener(topic, payload, retain)
        for client in self.clients:
            client.offer(topic, payload, False)

    def vanish(self, client: "Client") -> None:
        """A connection breaks without a goodbye: its will is carried out, in a while."""
        if client in self.clients:
            self.clients.remove(client)
            if client.will is not None:
                self.loop.call_later(self.rng.uniform(0.0, KEEP_ALIVE_S), self._bequeath, client.will)

    def _bequeath(self, will: tuple[str, bytes, bool]) -> None:
        self.publish(*will)


class Client:
    """What this program uses of paho's Client."""

    def __init__(self, broker: Broker) -> None:
        self.broker = broker
        self.will: tuple[str, bytes, bool] | None = None
        self.on_connect: Any = None
        self.on_subscribe: Any = None
        self.on_message: Any = None
        self.ended = SUCCESS
        self._greeted = False
        self._topics: list[str] = []
        self._coming: deque[tuple[str, bytes, bool]] = deque()
        self._silent_since_s: float | None = None

    def will_set(self, topic: str, payload: str, qos: int, retain: bool) -> None:
        self.will = (topic, payload.encode(), retain)

    def connect(self, _host: str, _port: int, _keepalive: int) -> None:
        if self.broker.cut:
            raise TimeoutError("timed out")
        if not self.broker.up:
            raise ConnectionRefusedError(111, "Connection refused")
        self.broker.clients.append(self)

    def loop(self, _timeout: float) -> MQTTErrorCode:
        if not self.broker.cut:
            self._silent_since_s = None
        elif self.ended == SUCCESS and self._is_silent():
            self.broker.vanish(self)
            self.ended = SILENT
        if self.ended != SUCCESS or self._silent_since_s is not None:
            return self.ended
        if not self._greeted:
            self._greeted = True
            self.on_connect(self, None, None, ReasonCode(PacketTypes.CONNACK, "Success"), None)
        while self._coming:
            topic, payload, retained = self._coming.popleft()
            message = MQTTMessage(topic=topic.encode())
            message.payload, message.retain = payload, retained
            self.on_message(self, None, message)
        return self.ended

    def loop_read(self) -> MQTTErrorCode:
        """All that came was handed over by `loop`."""
        return self.ended

    def subscribe(self, topics: list[tuple[str, int]]) -> None:
        for topic, _ in topics:
            self._topics.append(topic)
            for name, payload in self.broker.retained.items():
                if is_for(topic, name):
                    self._coming.append((name, payload, True))

    def offer(self, topic: str, payload: bytes, retained: bool) -> None:
        if any(is_for(each, topic) for each in self._topics):
            self._coming.append((topic, payload, retained))

    def publish(self, topic: str, payload: Any = None, qos: int = 0, retain: bool = False) -> None:
        if self.ended == SUCCESS and not self.broker.cut and self in self.broker.clients:
            self.broker.publish(topic, payload.encode() if isinstance(payload, str) else payload, retain)

    def want_write(self) -> bool:
        return self._silent_since_s is not None

    def disconnect(self) -> None:
        """With a goodbye: no will."""
        if self in self.broker.clients:
            self.broker.clients.remove(self)
        self.ended = LOST if self.ended == SUCCESS else self.ended

    def _is_silent(self) -> bool:
        """Half open: for so long nothing has come back from the broker that the connection is given up."""
        now_s = self.broker.loop.time()
        self._silent_since_s = now_s if self._silent_since_s is None else self._silent_since_s
        return now_s - self._silent_since_s > KEEP_ALIVE_S
