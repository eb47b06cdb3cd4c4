"""Readiness and watchdog for systemd: one datagram a word to the socket it names (sd_notify(3))."""

import contextlib
import os
import socket
from collections.abc import Mapping

SHARE = 4.0
"""The watchdog hears us so many times in the time it allows; systemd recommends two at least."""


class Systemd:
    """Says nothing where nobody listens: everything here does no harm outside systemd."""

    def __init__(self, environment: Mapping[str, str] = os.environ) -> None:
        address = environment.get("NOTIFY_SOCKET", "")
        self._address = "\0" + address[1:] if address.startswith("@") else address
        self._every_s = _watchdog_s(environment) / SHARE
        self._fed_s = float("-inf")

    def ready(self, rig: str) -> None:
        self._say(f"READY=1\nSTATUS=Watches {rig}")

    def stopping(self) -> None:
        self._say("STOPPING=1")

    def alive(self, now_s: float) -> None:
        """Called by every round that has decided; `now_s` counts seconds and never falls."""
        if self._every_s and now_s - self._fed_s >= self._every_s:
            self._fed_s = now_s
            self._say("WATCHDOG=1")

    def _say(self, word: str) -> None:
        if not self._address:
            return
        with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as sock:
            sock.setblocking(False)  # a full socket must not hold up a decision
            sock.sendto(word.encode(), self._address)


def _watchdog_s(environment: Mapping[str, str]) -> float:
    """The time the watchdog allows us, 0 where there is none or it watches another process."""
    allowed_us, watched = environment.get("WATCHDOG_USEC", ""), environment.get("WATCHDOG_PID", "")
    if not allowed_us.isdecimal() or (watched and watched != str(os.getpid())):
        return 0.0
    return int(allowed_us) / 1e6
