"""Readings from a serial port: its own worker, blocks of bytes, lines framed by ``monitor.wire.frames``."""

import contextlib
import errno
from collections.abc import Callable

import serial

from monitor.feeds.feed import ITSELF, FeedStatus, Trouble
from monitor.feeds.inbox import Inbox
from monitor.feeds.intake import Intake
from monitor.wire.frames import Frames, Garbled
from monitor.worker import Hire, Steps, Thread

LOST: tuple[type[Exception], ...] = (OSError, ValueError, TypeError)
"""What an unplugged port raises: SerialException is an OSError, a port closed under a read gives the others."""
with contextlib.suppress(ImportError):  # no termios on Windows
    import termios

    LOST = (*LOST, termios.error)

BLOCK = 4096
READ_S = 0.25
FIRST_WAIT_S = 0.5
LONGEST_WAIT_S = 4.0


def open_port(port: str, baud: int) -> serial.Serial:
    """For ourselves alone. Raises one of LOST."""
    return serial.Serial(port, baud, timeout=READ_S, write_timeout=1.0, exclusive=True)


class SerialFeed:
    """Opens the port, reads it, and opens it again for as long as it takes when it is lost."""

    def __init__(
        self, name: str, port: str, baud: int = 115_200,
        hire: Hire = Thread, open_port: Callable[[str, int], serial.Serial] = open_port,
    ) -> None:  # fmt: skip
        self.name = name
        self.port = port
        self.baud = baud
        self._open_port = open_port
        self._intake = Intake(name)
        self._worker = hire(name, self._reads)

    def start(self, inbox: Inbox) -> None:
        self._intake.open(inbox, Trouble(f"The serial port {self.port} is being opened.", ITSELF))
        self._worker.start()

    def status(self) -> FeedStatus:
        return self._intake.status()

    def close(self) -> None:
        self._intake.close()
        self._worker.close(4 * READ_S)

    def _reads(self) -> Steps:
        wait_s = FIRST_WAIT_S
        while True:
            frames = Frames()
            try:
                with self._open_port(self.port, self.baud) as port:
                    self._intake.trouble = None
                    wait_s = FIRST_WAIT_S
                    yield from self._listen(port, frames)
            except LOST as fault:
                self._lost(fault, frames)
            yield wait_s
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)

    def _listen(self, port: serial.Serial, frames: Frames) -> Steps:
        while True:
            for line in frames.take(port.read(min(max(port.in_waiting, 1), BLOCK))):
                if isinstance(line, Garbled):
                    self._intake.reject(line.kind, line.why, line.raw)
                else:
                    self._intake.line(line)
            yield 0.0

    def _lost(self, fault: Exception, frames: Frames) -> None:
        self._intake.trouble = trouble_with(self.port, fault)
        if half := frames.reset():
            self._intake.reject(half.kind, half.why, half.raw)


def trouble_with(port: str, fault: Exception) -> Trouble:
    """What the fault means to the person at the rig."""
    code = getattr(fault, "errno", None)
    if code in (errno.ENOENT, errno.ENXIO, errno.ENODEV):
        return Trouble(
            f"There is no serial port {port}: the node is not plugged in, or has another name.",
            f'Plug it in, or correct "serial" in the rig file. {ITSELF}',
        )
    if code in (errno.EACCES, errno.EPERM):
        return Trouble(
            f"This user may not open the serial port {port}.",
            "Add the user to the port's group, usually: sudo usermod -aG dialout USER; then log in again.",
        )
    if code in (errno.EAGAIN, errno.EBUSY):
        return Trouble(f"Another program holds the serial port {port}.", f"End that program. {ITSELF}")
    if isinstance(fault, ValueError) and "baud" in str(fault).lower():
        return Trouble(f"The serial port {port} can't run at that speed: {fault}.", 'Correct "baud" in the rig file.')
    if "configure" in str(fault):
        return Trouble(
            f"{port} can't be opened as a serial port: {fault}.",
            f'Correct "serial" in the rig file, unless it was just being plugged in. {ITSELF}',
        )
    return Trouble(f"The serial port {port} was lost: {fault}.", f"Check the plug and the cable. {ITSELF}")
