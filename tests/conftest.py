"""What all tests share. No test here depends on how fast the machine is: hypothesis is told so."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from brokers import Mosquitto, mosquitto
from hypothesis import HealthCheck, settings
from ports import Port

settings.register_profile(
    "house",
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("house")

LATER = ("campaign", "broker", "browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The fast part first, then what takes minutes, then what waits: of two workers neither is left alone with a long
    file. The browser last, since its driver leaves an event loop running in this thread."""
    items.sort(key=lambda item: [item.get_closest_marker(mark) is not None for mark in reversed(LATER)])


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    """A mosquitto that lets anybody in."""
    with mosquitto(tmp_path) as running:
        yield running


@pytest.fixture
def port(tmp_path: Path) -> Iterator[Port]:
    """A serial port that is plugged in."""
    port = Port(tmp_path / "ttyNODE")
    yield port
    if os.path.lexists(port.name):
        port.pull_out()
