"""What the daemon tells others over MQTT: the state each second, each alarm as it changes, and that it lives.

Whoever tells something here never waits and never fails. Nothing piles up: of what passes only the newest is sent, and
what is retained is sent again, as it then stands, each time the broker is back.
"""

import threading
from collections.abc import Callable

from paho.mqtt.client import Client

from monitor.feeds.broker import address, client_of
from monitor.feeds.connection import Connection
from monitor.feeds.feed import CLOSED, ITSELF, NOT_STARTED, FeedStatus, Trouble
from monitor.rig.feed_tables import Broker
from monitor.worker import Hire, Thread

TOPIC = "holdwater/rig/"
ALIVE = TOPIC + "alive"
LOOP_S = 0.1


class MqttOut:
    """Topics are given without ``holdwater/rig/``, but for `say_at`."""

    name = "notices"

    def __init__(
        self, broker: Broker, hire: Hire = Thread, client_of: Callable[[Broker], Client] = client_of
    ) -> None:
        self._trouble: Trouble | None = NOT_STARTED
        self._lock = threading.Lock()
        self._retained: dict[str, bytes] = {}
        self._changed: dict[str, None] = {}  # in the order of their changes
        self._passing: dict[str, bytes] = {}
        self._sent = 0
        self._connection = Connection(self.name, broker, self, LOOP_S, hire, client_of)

    def start(self) -> None:
        self._trouble = Trouble(f"The broker at {address(self._connection.broker)} is being called.", ITSELF)
        self._connection.start()

    def close(self) -> None:
        self._connection.close()
        self._trouble = CLOSED

    def status(self) -> FeedStatus:
        trouble = self._trouble
        why, do = trouble or Trouble("", "")
        return FeedStatus(self.name, trouble is None, why, do, self._sent, 0)

    def say(self, topic: str, said: bytes) -> None:
        """Something of now: sent at most once, dropped where the broker is not there."""
        self.say_at(TOPIC + topic, said)

    def say_at(self, topic: str, said: bytes) -> None:
        """The same under a whole topic of somebody else's."""
        with self._lock:
            self._passing[topic] = said

    def keep(self, topic: str, said: bytes) -> None:
        """Something that stands: the broker keeps it for whoever asks later."""
        with self._lock:
            self._retained[topic] = said
            self._changed[topic] = None

    # -- the connection's side --------------------------------------------------------------------------------

    def prepare(self, client: Client) -> None:
        client.will_set(ALIVE, "gone", qos=1, retain=True)

    def accepted(self, client: Client) -> None:
        client.publish(ALIVE, "up", qos=1, retain=True)
        with self._lock:
            self._changed |= dict.fromkeys(self._retained)
            self._passing.clear()

    def between(self, client: Client) -> None:
        if client.want_write():  # a broker that takes its time gets the newest when it is ready
            return
        if not (self._changed or self._passing):  # as mostly; what is told meanwhile is seen the next time
            return
        with self._lock:
            changed = {topic: self._retained[topic] for topic in self._changed}
            passing, self._passing, self._changed = self._passing, {}, {}
        for topic, said in changed.items():
            client.publish(TOPIC + topic, said, qos=1, retain=True)
        for topic, said in passing.items():
            client.publish(topic, said, qos=0)
        self._sent += len(changed) + len(passing)

    def leave(self, client: Client) -> None:
        client.publish(ALIVE, "gone", qos=1, retain=True)
        client.loop(LOOP_S)

    def trouble(self, trouble: Trouble | None) -> None:
        self._trouble = trouble
