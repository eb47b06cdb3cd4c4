"""A serial line's bytes into lines, with no port and no waiting.

One pack a line, ended by LF; a CR before it is dropped. At most 1,024 bytes stand on a line; a longer one is one
reject and is skipped to its LF. A line may end in ``*`` and four hex digits, the CRC-16/MODBUS of the bytes before
the ``*``; where it stands it is checked and taken off.

Garble before, in or after a line spoils that line only:

    ####[{"n":…}]\\n    what came before the pack belongs to its line: the line is no JSON, a reject further on
    [{"n":…#…}]\\n      the same, or a check that does not fit: reject "crc"
    [{"n":…}]\\n####    the garble waits for its LF and spoils the line it ends, no earlier one
    [{"n":…            half a line waits for the rest; `reset` gives it up when the port is lost
"""

import re

from monitor.wire.rejected import Rejected

LONGEST = 1024

_CHECK = re.compile(rb"\*([0-9A-Fa-f]{4})$")


def _table_entry(byte: int) -> int:
    for _ in range(8):
        byte = byte >> 1 ^ (0xA001 if byte & 1 else 0)
    return byte


_TABLE = tuple(_table_entry(byte) for byte in range(256))


def crc16_modbus(text: bytes) -> int:
    """CRC-16/MODBUS: polynomial 0x8005 reflected, start 0xFFFF (MODBUS over Serial Line V1.02, section 2.5.1.2)."""
    crc = 0xFFFF
    for byte in text:
        crc = crc >> 8 ^ _TABLE[(crc ^ byte) & 0xFF]
    return crc


class Garbled(Rejected):
    """A line that was not kept; `raw` is what stood on it, its beginning if it was too long."""

    def __init__(self, kind: str, why: str, raw: bytes) -> None:
        super().__init__(kind, why)
        self.raw = raw


class Frames:
    """Bytes as they come in, whole lines or rejects out; half a line is kept for the next time."""

    def __init__(self) -> None:
        self._half = b""
        self._skipping = False

    def take(self, block: bytes) -> list[bytes | Garbled]:
        """The lines that this block completes, without their ends and checks, and the rejects among them."""
        *ended, self._half = (self._half + block).split(b"\n")
        out = [found for line in ended if (found := self._end(line)) is not None]
        if len(self._half) > LONGEST + 1:  # one more may be the CR
            if not self._skipping:
                out.append(_too_long(self._half))
            self._skipping, self._half = True, b""
        return out

    def reset(self) -> Garbled | None:
        """The port was lost: what is left of a line, as a reject, or None where nothing waited."""
        half, self._half = self._half, b""
        skipping, self._skipping = self._skipping, False
        if skipping or not half.strip():
            return None
        return Garbled("half-line", "The port was lost in the middle of a line.", half)

    def _end(self, line: bytes) -> bytes | Garbled | None:
        if self._skipping:  # its reject is out already
            self._skipping = False
            return None
        line = line.removesuffix(b"\r")
        if len(line) > LONGEST:
            return _too_long(line)
        return _checked(line) if line else None


def _too_long(line: bytes) -> Garbled:
    why = f"A line has at most {LONGEST} bytes before its LF; was the speed (baud) of the port set right?"
    return Garbled("too-long", why, line[:LONGEST])


def _checked(line: bytes) -> bytes | Garbled:
    check = _CHECK.search(line)
    if check is None:
        return line
    text = line[: check.start()]
    said, found = int(check[1], 16), crc16_modbus(text)
    if said == found:
        return text
    return Garbled("crc", f"The line's check says {said:04X}, its bytes give {found:04X}.", line)
