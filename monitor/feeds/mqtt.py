"""Readings from an MQTT broker, through paho-mqtt.

The whole of a connection lives on one thread of ours: connecting, reading and closing. Each attempt is a fresh
client, so that a password or certificate put right meanwhile is taken, the reason of a failure is at hand, and no
fault inside paho's own network thread can end the feed unseen.
"""

import threading
from typing import Any

from paho.mqtt.client import Client, ConnectFlags, MQTTMessage
from paho.mqtt.enums import MQTTErrorCode
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from monitor.feeds.broker import address, client_of, hung_up, no_connection, refused
from monitor.feeds.feed import ITSELF, FeedStatus, Trouble
from monitor.feeds.inbox import Inbox
from monitor.feeds.intake import Intake
from monitor.rig.feed_tables import Broker
from monitor.wire.nodes import OURS

KEEP_ALIVE_S = 10
LOOP_S = 0.25
FIRST_WAIT_S = 1.0
LONGEST_WAIT_S = 5.0
"""With `broker.CONNECT_S` under the ten seconds within which data flows again when a broker is back."""

READINGS, ALIVE = "readings", "alive"


class MqttFeed:
    """Subscribes to readings, and beside each such topic to its nodes' word of life."""

    def __init__(self, name: str, broker: Broker, topics: tuple[str, ...] = ("holdwater/+/readings",)) -> None:
        self.name = name
        self.broker = broker
        self.topics = subscriptions(topics)
        self._intake = Intake(name)
        self._closing = threading.Event()
        self._accepted = False
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self, inbox: Inbox) -> None:
        self._intake.open(inbox, Trouble(f"The broker at {address(self.broker)} is being called.", ITSELF))
        self._thread.start()

    def status(self) -> FeedStatus:
        return self._intake.status()

    def close(self) -> None:
        self._closing.set()
        self._intake.close()
        if self._thread.is_alive():
            self._thread.join(4 * LOOP_S)

    def _run(self) -> None:
        wait_s = FIRST_WAIT_S
        while not self._closing.is_set():
            self._accepted = False
            trouble = self._connection()
            if self._closing.is_set():
                return
            if trouble:
                self._intake.trouble = trouble
            if self._accepted:
                wait_s = FIRST_WAIT_S
            self._closing.wait(wait_s)
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)

    def _connection(self) -> Trouble | None:
        """One connection from beginning to end; why it ended, None where that has been said already."""
        try:
            client = client_of(self.broker)
            client.on_connect = self._on_connect
            client.on_subscribe = self._on_subscribe
            client.on_message = self._on_message
            client.connect(self.broker.host, self.broker.port, KEEP_ALIVE_S)
        except Exception as fault:
            return no_connection(self.broker, fault)
        try:
            return self._listen(client)
        except Exception as fault:
            return Trouble(f"The connection to the broker at {address(self.broker)} broke: {fault!r}.", ITSELF)

    def _listen(self, client: Client) -> Trouble | None:
        ended = MQTTErrorCode.MQTT_ERR_SUCCESS
        while not self._closing.is_set() and ended == MQTTErrorCode.MQTT_ERR_SUCCESS:
            ended = client.loop(LOOP_S)
        client.disconnect()
        if ended == MQTTErrorCode.MQTT_ERR_CONN_REFUSED:  # said by _on_connect
            return None
        return hung_up(self.broker, self._accepted)

    def _on_connect(
        self, client: Client, _userdata: Any, _flags: ConnectFlags, reason: ReasonCode, _properties: Properties | None
    ) -> None:
        if reason.is_failure:
            self._intake.trouble = refused(self.broker, str(reason))
            return
        self._accepted = True
        self._intake.trouble = None
        client.subscribe([(topic, 1) for topic in self.topics])

    def _on_subscribe(
        self, _client: Client, _userdata: Any, _mid: int, reasons: list[ReasonCode], _properties: Properties | None
    ) -> None:
        if denied := [topic for topic, reason in zip(self.topics, reasons, strict=False) if reason.is_failure]:
            self._intake.trouble = Trouble(
                f"The broker at {address(self.broker)} does not let this user read {', '.join(denied)}.",
                "Allow it in the broker's access list.",
            )

    def _on_message(self, _client: Client, _userdata: Any, message: MQTTMessage) -> None:
        try:
            self._take(message)
        except Exception as fault:  # a topic that is no UTF-8; an escape would end the connection
            self._intake.reject("foreign-topic", f"A message could not be told apart: {fault}.", bytes(message.payload))

    def _take(self, message: MQTTMessage) -> None:
        *_, node, what = ("", "", *message.topic.split("/"))
        payload = bytes(message.payload)
        if what == READINGS:
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
