"""A connection to an MQTT broker that is kept up, through paho-mqtt.

The whole of it lives on one worker of ours: connecting, reading, writing and closing. Each attempt is a fresh client,
so that a password or certificate put right meanwhile is taken, the reason of a failure is at hand, and no fault
inside paho's own network thread can end it unseen.
"""

from collections.abc import Callable, Generator
from typing import Any, Protocol

from paho.mqtt.client import Client, ConnectFlags
from paho.mqtt.enums import MQTTErrorCode
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from monitor.feeds.broker import address, client_of, hung_up, no_connection, refused
from monitor.feeds.feed import ITSELF, Trouble
from monitor.rig.feed_tables import Broker
from monitor.worker import Hire, Steps, Thread

KEEP_ALIVE_S = 10
LOOP_S = 0.25
FIRST_WAIT_S = 1.0
LONGEST_WAIT_S = 5.0
"""With `broker.CONNECT_S` under the ten seconds within which data flows again when a broker is back."""


class Use(Protocol):
    """What a connection is used for. All calls come from its worker."""

    def prepare(self, client: Client) -> None:
        """A fresh client, not yet connected."""

    def accepted(self, client: Client) -> None:
        """The broker has said yes."""

    def between(self, client: Client) -> None:
        """A few times a second while the connection stands."""

    def leave(self, client: Client) -> None:
        """The last word before it is closed by us."""

    def trouble(self, trouble: Trouble | None) -> None:
        """What is wrong now; None once the broker has said yes."""


class Connection:
    """Calls the broker until `close`, again and again, with waits that grow up to a bound."""

    def __init__(
        self, name: str, broker: Broker, use: Use, loop_s: float = LOOP_S,
        hire: Hire = Thread, client_of: Callable[[Broker], Client] = client_of, pause_s: float = 0.0,
    ) -> None:  # fmt: skip
        """`pause_s`: what comes waits so long in front of the socket, to be read together."""
        self.broker = broker
        self._pause_s = pause_s
        self._use = use
        self._loop_s = loop_s
        self._client_of = client_of
        self._accepted = False
        self.worker = hire(name, self._calls)

    def start(self) -> None:
        self.worker.start()

    def close(self) -> None:
        self.worker.close()

    def _calls(self) -> Steps:
        wait_s = FIRST_WAIT_S
        while True:
            self._accepted = False
            trouble = yield from self._once()
            if trouble:
                self._use.trouble(trouble)
            if self._accepted:
                wait_s = FIRST_WAIT_S
            yield wait_s
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)

    def _once(self) -> Generator[float, None, Trouble | None]:
        """One connection from beginning to end; why it ended, None where that has been said already."""
        try:
            client = self._client_of(self.broker)
            client.on_connect = self._on_connect
            self._use.prepare(client)
            client.connect(self.broker.host, self.broker.port, KEEP_ALIVE_S)
        except Exception as fault:
            return no_connection(self.broker, fault)
        try:
            return (yield from self._hold(client))
        except Exception as fault:
            return Trouble(f"The connection to the broker at {address(self.broker)} broke: {fault!r}.", ITSELF)

    def _hold(self, client: Client) -> Generator[float, None, Trouble | None]:
        ended = MQTTErrorCode.MQTT_ERR_SUCCESS
        try:
            while ended == MQTTErrorCode.MQTT_ERR_SUCCESS:
                ended = client.loop(self._loop_s)
                if self._accepted:
                    self._use.between(client)
                yield self._pause_s
        except GeneratorExit:
            if self._accepted:
                self._use.leave(client)
            raise
        finally:
            client.disconnect()
        if ended == MQTTErrorCode.MQTT_ERR_CONN_REFUSED:  # said by _on_connect
            return None
        return hung_up(self.broker, self._accepted)

    def _on_connect(
        self, client: Client, _userdata: Any, _flags: ConnectFlags, reason: ReasonCode, _properties: Properties | None
    ) -> None:
        if reason.is_failure:
            self._use.trouble(refused(self.broker, str(reason)))
            return
        self._accepted = True
        self._use.trouble(None)
        self._use.accepted(client)
