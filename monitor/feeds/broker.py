"""Reaching an MQTT broker: its address, who we are to it, and what a failure means to the person at the rig."""

import secrets
import socket
import ssl
from pathlib import Path
from typing import Any

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from monitor.feeds.feed import ITSELF, Trouble
from monitor.rig.feed_tables import Broker

CONNECT_S = 4.0
LONGEST_QUEUE = 1000
START_IT = f'Start the broker, or correct "mqtt" in the rig file. {ITSELF}'


def address(broker: Broker) -> str:
    return f"{broker.host}:{broker.port}"


def client_of(broker: Broker) -> Client:
    """A client under a name of its own, not yet connected; password and certificates are read anew each time.

    Raises OSError or ValueError for files it can't use.
    """
    client = Client(
        CallbackAPIVersion.VERSION2,
        client_id=f"holdwater-{secrets.token_hex(6)}",  # two clients of one name would evict each other for ever
        reconnect_on_failure=False,
    )
    client.connect_timeout = CONNECT_S
    client.max_queued_messages_set(LONGEST_QUEUE)
    client.on_socket_open = _no_delay
    if broker.username is not None:
        client.username_pw_set(broker.username, broker.secret())
    if broker.tls:
        client.tls_set(_readable(broker.ca), _readable(broker.cert), _readable(broker.key))
    return client


def _readable(file: Path | None) -> str | None:
    """The file's name, once it is sure to be readable: the TLS library does not say which file it lacks."""
    if file is None:
        return None
    file.open("rb").close()
    return str(file)


def _no_delay(_client: Client, _userdata: Any, sock: Any) -> None:
    """Small packs leave at once: the worst delay on loopback falls from some 40 ms to 10."""
    sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)


def no_connection(broker: Broker, fault: Exception) -> Trouble:
    """What it means that no connection came about."""
    if isinstance(fault, ConnectionRefusedError):
        return Trouble(f"The broker at {address(broker)} is unreachable: nothing listens there.", START_IT)
    if isinstance(fault, ConnectionError):
        return hung_up(broker, accepted=False)
    if isinstance(fault, socket.gaierror | UnicodeError):
        return Trouble(f"The broker is unreachable: nobody knows a host {broker.host}.", START_IT)
    if isinstance(fault, TimeoutError):
        return Trouble(f"The broker at {address(broker)} is unreachable: no answer.", f"Check the network. {START_IT}")
    if isinstance(fault, ssl.SSLCertVerificationError):
        return Trouble(
            f"The broker at {address(broker)} has a certificate that is not trusted: {fault.verify_message}.",
            f'Name the certificate to trust as "ca" in the rig file. {ITSELF}',
        )
    if isinstance(fault, ssl.SSLError):
        return Trouble(
            f"No secure connection to the broker at {address(broker)}: {fault.reason or fault}.",
            f"Check that this port speaks TLS, and the files cert and key. {ITSELF}",
        )
    if isinstance(fault, OSError) and fault.filename is not None:
        return Trouble(f"The file {fault.filename} can't be read: {fault.strerror}.", f"Put it right. {ITSELF}")
    return Trouble(f"The broker at {address(broker)} is unreachable: {fault}.", START_IT)


def refused(broker: Broker, reason: str) -> Trouble:
    """What it means that the broker answered, and said no."""
    if reason in ("Bad user name or password", "Not authorized"):
        return Trouble(
            f"The broker at {address(broker)} refused the user name or the password.",
            f'Correct "username" and "password_file" in the rig file. {ITSELF}',
        )
    return Trouble(
        f"The broker at {address(broker)} refused the connection: {reason}.", f"See the broker's log. {ITSELF}"
    )


def hung_up(broker: Broker, accepted: bool) -> Trouble:
    """What it means that a connection ended."""
    if accepted:
        return Trouble(f"The connection to the broker at {address(broker)} was lost.", START_IT)
    return Trouble(
        f"The broker at {address(broker)} ended the connection before it was accepted.",
        f"Check that this is an MQTT broker's port, and whether it wants TLS (mqtts://). {ITSELF}",
    )
