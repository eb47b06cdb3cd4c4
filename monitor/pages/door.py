"""The door of a page that others can reach: who is let in, under which names, with which certificate."""

import socket
from collections.abc import Mapping
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address
from typing import NamedTuple

from monitor.pages.certificate import Certificate, certificate_of
from monitor.pages.devices import Device, Devices, DevicesUnread
from monitor.pages.rates import Rates
from monitor.rig.model import Rig, is_loopback

COOKIE = "__Host-holdwater"
"""The prefix binds it to this host and to HTTPS, in every browser."""


class Door(NamedTuple):
    """`guesses` bounds how often a pairing code is tried, by one address and by all; `asks` bounds all requests."""

    devices: Devices
    names: frozenset[str]
    certificate: Certificate
    guesses: Rates
    all_guesses: Rates
    asks: Rates

    def knows(self, host: str) -> bool:
        """A page elsewhere can make a name of its own point at us, but no bare address."""
        return host.lower() in self.names or _is_address(host)

    def device_of(self, headers: Mapping[str, str]) -> Device | None:
        try:
            cookie = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
            return None if cookie is None else self.devices.of(cookie.value)
        except (CookieError, DevicesUnread):
            return None

    def may_guess(self, client: str) -> bool:
        return self.guesses.take(client) and self.all_guesses.take("")


def door_of(rig: Rig) -> Door | None:
    """None on loopback, where nobody else comes. Raises CertificateFault."""
    if is_loopback(rig.page.host):
        return None
    names = names_of(rig)
    guesses, all_guesses, asks = Rates(5, 5 / 60), Rates(30, 30 / 60), Rates(200, 50)
    return Door(Devices(rig.journal.file), names, certificate_of(rig, names), guesses, all_guesses, asks)


def names_of(rig: Rig) -> frozenset[str]:
    """The names the page goes by: this machine's, its name on the local network, and those in the rig file."""
    here = socket.gethostname().lower().partition(".")[0]
    return frozenset({here, f"{here}.local", "localhost", *(name.lower() for name in rig.page.names)})


def best_name(rig: Rig) -> str:
    """What a tablet opens the page by: the rig file's first name, the address it listens on, or this machine's name."""
    host = rig.page.host
    if rig.page.names:
        return rig.page.names[0]
    if ip_address(host).is_unspecified:
        return f"{socket.gethostname().lower().partition('.')[0]}.local"
    return f"[{host}]" if ":" in host else host


def _is_address(host: str) -> bool:
    try:
        return bool(ip_address(host.strip("[]")))
    except ValueError:
        return False
