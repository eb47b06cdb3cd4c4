"""Readings from an MQTT broker."""

from collections.abc import Callable, Collection

from paho.mqtt.client import Client, MQTTMessage

from monitor.feeds.broker import address, client_of
from monitor.feeds.connection import Connection
from monitor.feeds.feed import ITSELF, FeedStatus, Trouble
from monitor.feeds.inbox import Inbox
from monitor.feeds.intake import Intake
from monitor.feeds.listening import Listening
from monitor.feeds.strangers import Strangers
from monitor.rig.feed_tables import Broker
from monitor.rig.map_tables import MapTable
from monitor.wire.mapped import Mapping
from monitor.wire.nodes import OURS
from monitor.worker import Hire, Thread

READINGS, ALIVE = "readings", "alive"
OTHERS_EVERY_S = 0.25
"""All of the rig's own packs come on the second connection too: four times a second a few dozen of them are passed over
at once, which costs a fifth of waking for each. What comes faster than that waits at the broker, or is let go there."""


class MqttFeed:
    """Subscribes to readings, and beside each such topic to its nodes' word of life.

    Where the rig's own nodes are known, each is heard by its own topics; whoever else speaks under the rig file's
    topics is heard on a second connection, so that what strangers say, however much, queues in front of nothing.
    """

    def __init__(
        self, name: str, broker: Broker, topics: tuple[str, ...] = ("holdwater/+/readings",),
        maps: tuple[MapTable, ...] = (),
        hire: Hire = Thread, client_of: Callable[[Broker], Client] = client_of, strangers: Strangers | None = None,
    ) -> None:  # fmt: skip
        """`strangers`: how much those may say whom the rig file does not know; without it, as much as they like."""
        self.name = name
        self.broker = broker
        self._strangers = strangers
        self._maps: dict[str, list[Mapping]] = {}
        for each in maps:
            self._maps.setdefault(each.topic, []).append(each.mapping)
        self._intake = Intake(name)
        self.topics = tuple(dict.fromkeys((*subscriptions(topics), *self._maps)))
        own, others = apart(self.topics, strangers.known if strangers else ())
        use = Listening(own, self.hear, self._trouble, self.denied)
        self.connections = [Connection(name, broker, use, hire=hire, client_of=client_of)]
        if others:
            aside = Listening(others, self._hear_others, _keep_silent, _keep_silent)
            self.connections.append(
                Connection(f"{name} others", broker, aside, hire=hire, client_of=client_of, pause_s=OTHERS_EVERY_S)
            )

    def start(self, inbox: Inbox) -> None:
        self._intake.open(inbox, Trouble(f"The broker at {address(self.broker)} is being called.", ITSELF))
        for each in self.connections:
            each.start()

    def status(self) -> FeedStatus:
        return self._intake.status()

    def close(self) -> None:
        for each in self.connections:
            each.close()
        self._intake.close()

    def hear(self, message: MQTTMessage) -> None:
        """Whatever it is, nothing is raised."""
        try:
            self._take(message)
        except Exception as fault:  # a topic that is no UTF-8; an escape would end the connection
            self._intake.reject("foreign-topic", f"A message could not be told apart: {fault}.", bytes(message.payload))

    def denied(self, topics: list[str]) -> None:
        """The broker will not let us read these."""
        self._intake.trouble = Trouble(
            f"The broker at {address(self.broker)} does not let this user read {', '.join(topics)}.",
            "Allow it in the broker's access list.",
        )

    def _trouble(self, trouble: Trouble | None) -> None:
        self._intake.trouble = trouble

    def _hear_others(self, message: MQTTMessage) -> None:
        """The rig's own nodes are heard on the first connection."""
        if self._strangers is None or not self._strangers.knows(_node(message)):
            self.hear(message)

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


def _node(message: MQTTMessage) -> str:
    """The node that a topic names; none where it is no text."""
    try:
        return message.topic.rpartition("/")[0].rpartition("/")[2]
    except UnicodeDecodeError:
        return ""


def _keep_silent(_: object) -> None:
    """What ails the second connection ails the first, which tells; to read only what is the rig's is enough."""


def subscriptions(topics: tuple[str, ...]) -> tuple[str, ...]:
    """The topics, and beside each one of readings the one of life: ``a/+/readings`` brings ``a/+/alive``."""
    lives = [topic.removesuffix(READINGS) + ALIVE for topic in topics if topic.endswith("/" + READINGS)]
    return tuple(dict.fromkeys((*topics, *lives)))


def apart(topics: tuple[str, ...], nodes: Collection[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What to hear of the rig's own nodes, and what to hear aside: ``a/+/readings`` becomes ``a/tank/readings``, with
    ``a/+/readings`` aside. A topic that does not end in its node and one of our two words stays as it is."""
    others = tuple(topic for topic in topics if nodes and topic.endswith((f"+/{READINGS}", f"+/{ALIVE}")))
    own: list[str] = []
    for topic in topics:
        before, _, what = topic.rpartition("+/")
        own += [f"{before}{node}/{what}" for node in sorted(nodes)] if topic in others else [topic]
    return tuple(own), others
