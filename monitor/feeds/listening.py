"""What a connection to a broker is used for when one listens: its topics, and who takes what comes under them."""

from collections.abc import Callable
from typing import Any

from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from monitor.feeds.feed import Trouble

AT_ONCE = 64


class Listening:
    """Calls come from the connection's worker. `take` must not raise: an escape would end the connection."""

    def __init__(
        self, topics: tuple[str, ...], take: Callable[[MQTTMessage], None],
        trouble: Callable[[Trouble | None], None], denied: Callable[[list[str]], None],
    ) -> None:  # fmt: skip
        self.topics = topics
        self.trouble = trouble
        self._take = take
        self._denied = denied
        self._heard = self._read = 0

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

    def _on_subscribe(
        self, _client: Client, _userdata: Any, _mid: int, reasons: list[ReasonCode], _properties: Properties | None
    ) -> None:
        if denied := [topic for topic, reason in zip(self.topics, reasons, strict=False) if reason.is_failure]:
            self._denied(denied)

    def _on_message(self, _client: Client, _userdata: Any, message: MQTTMessage) -> None:
        self._heard += 1
        self._take(message)
