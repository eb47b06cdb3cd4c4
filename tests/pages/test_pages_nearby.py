"""The page's name on the network, asked for by a client of the same library on loopback."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from daemons import write_rig
from waiting import until
from zeroconf import AddressResolverIPv4, ServiceBrowser, ServiceListener, Zeroconf

from monitor.pages.nearby import KIND, Nearby
from monitor.rig.load import load
from monitor.rig.model import Rig

LOOPBACK = ["127.0.0.1"]


@pytest.fixture
def client() -> Iterator[Zeroconf]:
    asking = Zeroconf(interfaces=LOOPBACK)
    yield asking
    asking.close()


class Found(ServiceListener):
    def __init__(self) -> None:
        self.names: set[str] = set()

    def add_service(self, _zc: Zeroconf, _kind: str, name: str) -> None:
        self.names.add(name)

    def update_service(self, _zc: Zeroconf, _kind: str, name: str) -> None:
        pass

    def remove_service(self, _zc: Zeroconf, _kind: str, name: str) -> None:
        self.names.discard(name)


def rig(folder: Path, name: str = "Fair. Trailer") -> Rig:
    more = 'names = ["holdwater-test.local"]'
    return load(write_rig(folder / "rig.toml", 'serial = "/dev/nowhere"', name=name, listen="0.0.0.0:8321", more=more))


def test_the_page_is_found_by_its_name_and_gone_when_it_says_good_bye(tmp_path: Path, client: Zeroconf) -> None:
    found = Found()
    ServiceBrowser(client, KIND, found)
    nearby = Nearby(rig(tmp_path), 8321, here=lambda _: {"192.0.2.7", "127.0.0.1"}, interfaces=LOOPBACK)
    nearby.start()
    full = f"Fair  Trailer.{KIND}"
    until(lambda: full in found.names, 20.0, "the page is found")
    told = client.get_service_info(KIND, full, 10_000)
    assert told is not None
    assert (told.port, told.server, told.parsed_addresses()) == (8321, "holdwater-test.local.", ["192.0.2.7"])
    host = AddressResolverIPv4("holdwater-test.local.")
    assert host.request(client, 10_000)
    assert host.parsed_addresses() == ["192.0.2.7"]
    nearby.close()
    until(lambda: full not in found.names, 20.0, "it is gone")


def test_without_the_extra_it_is_said_once_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setitem(sys.modules, "zeroconf", None)
    caplog.set_level("INFO", "holdwater")
    assert list(Nearby(rig(tmp_path), 8321)._says()) == []
    assert "install holdwater[zeroconf]" in caplog.text


def test_an_address_needs_no_name(tmp_path: Path) -> None:
    plain = load(write_rig(tmp_path / "rig.toml", 'serial = "/dev/nowhere"', listen="192.0.2.7:8321"))
    assert list(Nearby(plain, 8321)._says()) == []
