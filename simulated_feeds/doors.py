"""Ways out of the simulated world, each the one a real rig would use: a recorded file, a serial line, a broker."""

import json
import os
import time
import tty
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from types import TracebackType
from typing import Any, Protocol, Self
from urllib.parse import urlsplit

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

Event = dict[str, Any]
Record = dict[str, Any]
LONGEST_LINE = 1024  # bytes, without the line's end
_BITS_A_BYTE = 10  # start and stop bit included
_CHECK_BYTES = len("*ABCD")


class Door(Protocol):
    """Takes events one after the other and closes when done."""

    def put(self, event: Event) -> None: ...

    def close(self) -> None: ...


class Opened:
    """A door that closes itself at the end of a `with`."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        raise NotImplementedError


def as_text(value: object) -> str:
    """JSON in one line without spaces, as a small node writes it."""
    return json.dumps(value, separators=(",", ":"), ensure_ascii=False)


class RecordedFile(Opened):
    """A recorded feed: JSON Lines in order of arrival."""

    def __init__(self, path: Path) -> None:
        self._file = path.open("w", encoding="utf-8", newline="\n")

    def put(self, event: Event) -> None:
        self._file.write(json.dumps(event, ensure_ascii=False) + "\n")

    def close(self) -> None:
        self._file.close()


def _shifted_out(byte: int) -> int:
    crc = byte
    for _ in range(8):
        crc = crc >> 1 ^ 0xA001 if crc & 1 else crc >> 1
    return crc


_OF_A_BYTE = tuple(_shifted_out(byte) for byte in range(256))


def crc16(data: bytes) -> int:
    """CRC-16/MODBUS: reflected polynomial 0x8005, beginning with all ones."""
    crc = 0xFFFF
    for byte in data:
        crc = crc >> 8 ^ _OF_A_BYTE[(crc ^ byte) & 0xFF]
    return crc


def serial_lines(pack: list[Record], checked: bool = True) -> Iterator[bytes]:
    """The lines of a pack: one, or several where it would not fit in one. Base name and time stand in each."""
    room = LONGEST_LINE - (_CHECK_BYTES if checked else 0)
    if len(whole := _line({}, pack)) <= room:  # as mostly
        yield _ended(whole, checked)
        return
    base: Record = {key: pack[0][key] for key in ("bver", "bn", "bt") if key in pack[0]}
    part: list[Record] = []
    for record in ({key: value for key, value in each.items() if key not in base} for each in pack):
        if part and len(_line(base, [*part, record])) > room:
            yield _ended(_line(base, part), checked)
            part = []
        part.append(record)
    yield _ended(_line(base, part), checked)


def _line(base: Record, part: list[Record]) -> bytes:
    return as_text([{**base, **part[0]}, *part[1:]]).encode()


def _ended(line: bytes, checked: bool) -> bytes:
    return line + (f"*{crc16(line):04X}".encode() if checked else b"") + b"\n"


class SerialLine(Opened):
    """One end of a pseudo-terminal, written no faster than its baud rate. `path` is the end for the daemon to open."""

    def __init__(self, baud: int = 115200, checked: bool = True, sleep: Callable[[float], None] = time.sleep) -> None:
        self._ours, self._theirs = os.openpty()
        tty.setraw(self._theirs)
        os.set_blocking(self._ours, False)
        self.path = os.ttyname(self._theirs)
        self.dropped = 0
        self._byte_s = _BITS_A_BYTE / baud
        self._checked = checked
        self._sleep = sleep

    def put(self, event: Event) -> None:
        """A node's word of being up or gone does not travel on a serial line."""
        for line in serial_lines(event["pack"], self._checked) if "pack" in event else ():
            self.write(line)

    def write(self, line: bytes) -> None:
        """Sends bytes as they are; what nobody reads once the line's buffer is full is dropped and counted."""
        try:
            os.write(self._ours, line)
        except BlockingIOError:
            self.dropped += 1
        self._sleep(len(line) * self._byte_s)

    def close(self) -> None:
        os.close(self._ours)
        os.close(self._theirs)


class Broker(Opened):
    """A real broker, with a connection for every node and every node's own will."""

    def __init__(self, url: str, run: str = "") -> None:
        parts = urlsplit(url)
        self._host, self._port = parts.hostname or "127.0.0.1", parts.port or 1883
        self._clients: dict[str, mqtt.Client] = {}
        self._run = run or str(os.getpid())
        self._nth = count(1)

    def put(self, event: Event) -> None:
        node = event.get("node")
        if node is None:
            return
        if event.get("alive") == "gone":
            self._break(node)
        elif event.get("alive") == "up":
            self._connect(node)
        else:
            self._client(node).publish(f"holdwater/{node}/readings", as_text(event["pack"]), qos=1)

    def _client(self, node: str) -> mqtt.Client:
        if node not in self._clients:
            self._connect(node)
        return self._clients[node]

    def _connect(self, node: str) -> None:
        """Connects with the will set, and says that the node is up."""
        if node in self._clients:
            return
        name = f"simulated-{self._run}-{node}-{next(self._nth)}"
        client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id=name, protocol=mqtt.MQTTv311)
        topic = f"holdwater/{node}/alive"
        client.will_set(topic, "gone", qos=1, retain=True)
        client.connect(self._host, self._port, keepalive=10)
        client.loop_start()
        client.publish(topic, "up", qos=1, retain=True).wait_for_publish(5.0)
        self._clients[node] = client

    def _break(self, node: str) -> None:
        """Loses the connection without a goodbye, so that the broker carries out the node's will."""
        client = self._clients.pop(node, None)
        if client is None:
            return
        sock = client.socket()
        client.loop_stop()
        if sock is not None:
            sock.close()

    def close(self) -> None:
        """Every node says goodbye; as it is no more, it also says that it is gone."""
        for node, client in self._clients.items():
            client.publish(f"holdwater/{node}/alive", "gone", qos=1, retain=True).wait_for_publish(5.0)
            client.disconnect()
            client.loop_stop()
        self._clients.clear()
