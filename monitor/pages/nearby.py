"""The page's name on the local network: ``holdwater.local`` answered, and the page found by those who look around.

By multicast DNS (RFC 6762, RFC 6763), with the extra ``holdwater[zeroconf]``; where avahi does it already there is no
need of it.
"""

import logging
from collections.abc import Callable
from ipaddress import ip_address

from monitor.pages.certificate import addresses
from monitor.pages.door import best_name
from monitor.rig.model import Rig
from monitor.worker import Hire, Steps, Thread

log = logging.getLogger("holdwater")

KIND = "_https._tcp.local."
LOOKS_S = 30.0
"""So often it is seen whether the addresses have changed: a Wi-Fi comes up later than we."""
LONGEST_NAME = 60


class Nearby:
    """Says the rig's name and where its page is, on a worker of its own, until `close`."""

    def __init__(
        self, rig: Rig, port: int, hire: Hire = Thread, here: Callable[[str], set[str]] = addresses,
        interfaces: list[str] | None = None,
    ) -> None:  # fmt: skip
        """`here` gives this machine's addresses; `interfaces` are those to speak on, else all."""
        self._rig, self._port, self._here, self._interfaces = rig, port, here, interfaces
        self._worker = hire("name on the network", self._says)

    def start(self) -> None:
        self._worker.start()

    def close(self) -> None:
        self._worker.close()

    def _says(self) -> Steps:
        name = best_name(self._rig)
        if not name.endswith(".local"):
            return
        try:
            import zeroconf  # noqa: F401
        except ImportError:
            log.info("%s is not said on the network: install holdwater[zeroconf], or avahi-daemon.", name)
            return
        while True:
            try:
                yield from self._said(name)
            except OSError as error:  # no network yet, or not any more
                log.info("%s can't be said on the network: %s. Tried again.", name, error)
            yield LOOKS_S

    def _said(self, name: str) -> Steps:
        from zeroconf import InterfaceChoice, ServiceInfo, Zeroconf

        found = Zeroconf(interfaces=self._interfaces or InterfaceChoice.All)
        said: list[bytes] | None = None
        try:
            while True:
                now = ServiceInfo(
                    KIND, f"{_plain(self._rig.about.name)}.{KIND}", self._port, properties={"path": "/"},
                    server=f"{name}.", parsed_addresses=self._addresses(),
                )  # fmt: skip
                if said is None:
                    found.register_service(now, allow_name_change=True)
                elif now.addresses != said:
                    found.update_service(now)
                said = now.addresses
                yield LOOKS_S
        finally:
            found.close()  # which says good-bye

    def _addresses(self) -> list[str]:
        """Those that another device can use; loopback where there is no other."""
        every = sorted(self._here(self._rig.page.host))
        return [each for each in every if not ip_address(each).is_loopback] or every


def _plain(name: str) -> str:
    """One label of a service's name: no dots, and not too long."""
    return name.replace(".", " ").encode()[:LONGEST_NAME].decode("utf-8", "ignore").strip() or "Holdwater"
