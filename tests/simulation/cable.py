"""A serial line that can be pulled out, and a port on it that is used as pyserial's is."""

import errno
from typing import Any, Self

import serial

HELD = 4096
"""What the line's driver holds for a reader who is away."""


class Cable:
    """What nodes write to. Where nobody reads, the oldest is lost."""

    def __init__(self) -> None:
        self.plugged = True
        self.plugged_since_s = 0.0
        self.coming = bytearray()

    def write(self, line: bytes) -> None:
        if self.plugged:
            self.coming += line
            del self.coming[:-HELD]

    def pull_out(self) -> None:
        self.plugged = False
        self.coming.clear()

    def plug_in(self, now_s: float) -> None:
        self.plugged, self.plugged_since_s = True, now_s

    def open(self, _port: str, _baud: int) -> "Port":
        if not self.plugged:
            raise serial.SerialException(errno.ENOENT, "could not open port: No such file or directory")
        self.coming.clear()
        return Port(self)


class Port:
    """What this program uses of pyserial's Serial."""

    def __init__(self, cable: Cable) -> None:
        self._cable = cable

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: Any) -> None:
        """Closing a port that is gone is no fault."""

    @property
    def in_waiting(self) -> int:
        if not self._cable.plugged:
            raise OSError(errno.EIO, "Input/output error")
        return len(self._cable.coming)

    def read(self, size: int) -> bytes:
        if not self._cable.plugged:
            raise serial.SerialException("device reports readiness to read but returned no data")
        read = bytes(self._cable.coming[:size])
        del self._cable.coming[:size]
        return read
