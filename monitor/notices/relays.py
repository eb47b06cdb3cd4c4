"""Relays that horn and strobe hang on: the RTS and DTR pins of a serial line, or a relay node under a topic."""

import contextlib
from collections.abc import Callable
from typing import Protocol

import serial

from monitor.feeds.feed import ITSELF, Trouble
from monitor.feeds.serial_port import LOST, trouble_with
from monitor.notices.mqtt_out import MqttOut
from monitor.rig.notice_tables import Output

OpenLine = Callable[[str], serial.Serial]
NO_PINS = Trouble("This serial line has no pins to switch.", "Give the horn a line with RTS and DTR, or a topic.")


def open_line(port: str) -> serial.Serial:
    """The port with both pins down from the start: a plain opening would raise them, and blow the horn."""
    line = serial.Serial(exclusive=True, write_timeout=1.0)
    line.rts = line.dtr = False
    line.port = port
    line.open()
    return line


class Relays(Protocol):
    """One or two relays that are reached the same way; `put` and `close` never raise."""

    def put(self, on: dict[str, bool]) -> Trouble | None:
        """Switch these, by the name of what hangs on them; what is in the way, where something is."""

    def close(self) -> None:
        """Everything off."""


class LineRelays:
    """The pins of one serial line. Lost, it is opened again at the next `put`."""

    def __init__(self, port: str, pins: dict[str, str], open_line: OpenLine = open_line) -> None:
        self.port, self.pins = port, pins
        self._open = open_line
        self._line: serial.Serial | None = None

    def put(self, on: dict[str, bool]) -> Trouble | None:
        try:
            if self._line is None:
                self._line = self._open(self.port)
            for name, pin in self.pins.items():
                setattr(self._line, pin, on.get(name, False))
        except LOST as fault:
            pinless = self._line is not None and getattr(fault, "errno", None) in (22, 25)  # EINVAL, ENOTTY
            self._drop()
            return NO_PINS if pinless else trouble_with(self.port, fault)
        return None

    def close(self) -> None:
        if self._line is not None:
            self.put({})
        self._drop()

    def _drop(self) -> None:
        line, self._line = self._line, None
        if line is not None:
            with contextlib.suppress(*LOST):
                line.close()


class TopicRelays:
    """Relay nodes at the broker. They hear each second how to stand, and should switch off when they hear nothing."""

    def __init__(self, out: MqttOut, outputs: dict[str, Output]) -> None:
        self.out, self.outputs = out, outputs

    def put(self, on: dict[str, bool]) -> Trouble | None:
        for name, output in self.outputs.items():
            self.out.say_at(output.topic or "", (output.on if on.get(name) else output.off).encode())
        status = self.out.status()
        return None if status.ok else Trouble(status.why, status.do or ITSELF)

    def close(self) -> None:
        self.put({})


def relays_of(outputs: dict[str, Output], out: MqttOut | None, open_line: OpenLine = open_line) -> list[Relays]:
    """What drives these outputs: a serial line once, however many hang on it."""
    ports = dict.fromkeys(output.serial for output in outputs.values() if output.serial)
    lines: list[Relays] = [
        LineRelays(port, {name: o.pin for name, o in outputs.items() if o.serial == port}, open_line)
        for port in ports
    ]
    topics = {name: output for name, output in outputs.items() if output.topic}
    return [*lines, TopicRelays(out, topics)] if topics and out is not None else lines
