"""Readings from an MQTT broker."""

from collections.abc import Callable
from typing import Any

from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from monitor.feeds.broker import address, client_of
from monitor.feeds.connection import Connection
from monitor.feeds.feed import ITSELF, FeedStatus, Trouble
from monitor.feeds.inbox import Inbox
from monitor.feeds.intake import Intake
from monitor.feeds.strangers import Strangers
from monitor.rig.feed_tables import Broker
from monitor.rig.map_tables import MapTable
from monitor.wire.mapped import Mapping
from monitor.wire.nodes import OURS
from monitor.worker import Hire, Thread

READINGS, ALIVE = "readings", "alive"
AT_ONCE = 64


class MqttFeed:
    """Subscribes to readings, and beside each such topic to its nodes' word of life."""

    def __init__(
        self, name: str, broker: Broker, topics: tuple[str, ...] = ("holdwater/+/readings",),
        maps: tuple[MapTable, ...] = (),
        hire: Hire = Thread, client_of: Callable[[Broker], Client] = client_of, strangers: Strangers | None = None,
    ) -> None:  # fmt: skip
        """`strangers`: how much those may say whom the rig file does not know; without it, as much as they like."""
        self.name = name
        self._strangers = strangers
        self.broker = broker
        self._maps: dict[str, list[Mapping]] = {}
        for each in maps:
            self._maps.setdefault(each.topic, []).append(each.mapping)
        self.topics = tuple(dict.fromkeys((*subscriptions(topics), *self._maps)))
        self._intake = Intake(name)
        self._heard = self._read = 0
        self._connection = Connection(name, broker, self, hire=hire, client_of=client_of)

    def start(self, inbox: Inbox) -> None:
        self._intake.open(inbox, Trouble(f"The broker at {address(self.broker)} is being called.", ITSELF))
        self._connection.start()

    def status(self) -> FeedStatus:
        return self._intake.status()

    def close(self) -> None:
        self._connection.close()
        self._intake.close()

    def prepare(self, client: Client) -> None:
        client.on_subscribe = self._on_subscribe
        client.on_message = self._on_message

    def accepted(self, client: Client) -> None:
        client.subscribe([(topic, 1) for topic in self.topics])

    def between(self, client: Client) -> None:
        """What came together is read together: to ask the system before each message costs as much as the message."""
        for _ in range(AT_ONCE):
            if self._read == self._heard:
                return
            self._read = self._heard
            client.loop_read()

    def leave(self, client: Client) -> None:
        """A listener has no last word."""

    def trouble(self, trouble: Trouble | None) -> None:
        self._intake.trouble = trouble

    def _on_subscribe(
        self, _client: Client, _userdata: Any, _mid: int, reasons: list[ReasonCode], _properties: Properties | None
    ) -> None:
        if denied := [topic for topic, reason in zip(self.topics, reasons, strict=False) if reason.is_failure]:
            self._intake.trouble = Trouble(
                f"The broker at {address(self.broker)} does not let this user read {', '.join(denied)}.",
                "Allow it in the broker's access list.",
            )

    def _on_message(self, _client: Client, _userdata: Any, message: MQTTMessage) -> None:
        self._heard += 1
        try:
            self._take(message)
        except Exception as fault:  # a topic that is no UTF-8; an escape would end the connection
            self._intake.reject("foreign-topic", f"A message could not be told apart: {fault}.", bytes(message.payload))

    def _take(self, message: MQTTMessage) -> None:
        *_, node, what = ("", "", *message.topic.split("/"))
        payload = bytes(message.payload)
        if message.topic in self._maps:
            self._intake.mapped(payload, self._maps[message.topic], message.retain)
        elif self._strangers is not None and not self._strangers.may_speak(node):
            self._intake.let_go()
        elif what == READINGS:
            self._intake.message(node, payload, message.retain)
        elif what == ALIVE:
            self._intake.alive(node, payload, message.retain)
        elif node != OURS and f"/{OURS}/" not in message.topic:
            why = f"The topic {message.topic} ends neither in /{READINGS} nor in /{ALIVE}."
            self._intake.reject("foreign-topic", why, payload)


def subscriptions(topics: tuple[str, ...]) -> tuple[str, ...]:
    """The topics, and beside each one of readings the one of life: ``a/+/readings`` brings ``a/+/alive``."""
    lives = [topic.removesuffix(READINGS) + ALIVE for topic in topics if topic.endswith("/" + READINGS)]
    return tuple(dict.fromkeys((*topics, *lives)))
