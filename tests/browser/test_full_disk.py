"""A disk that is really full, under an open page: the crew is told within ten seconds, and told when it is over."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import IO

import pytest
from daemons import Holdwater, holdwater
from playwright.sync_api import Page, expect
from waiting import until

pytestmark = pytest.mark.browser

# The daemon sees a small disk of its own, which goes with it.
SMALL_DISK = 'mount -t tmpfs -o size=6m tmpfs "$0" && exec "$@"'


@pytest.fixture
def disk(tmp_path: Path) -> Path:
    folder = tmp_path / "disk"
    folder.mkdir()
    return folder


@pytest.fixture
def demo(tmp_path: Path, disk: Path) -> Iterator[Holdwater]:
    under = ("unshare", "--map-root-user", "--mount", "sh", "-c", SMALL_DISK, str(disk))
    env = {**os.environ, "TMPDIR": str(disk)}
    with holdwater(tmp_path, "demo", "--speed", "20", "--listen", "127.0.0.1:0", env=env, under=under) as running:
        until(lambda: running.http.get("/api/history/signals").json().get("last"), 30.0, "the journal is written")
        yield running


def write_on(taking: IO[bytes], size: int) -> None:
    while True:
        taking.write(bytes(size))


def fill(file: Path) -> None:
    """Takes all the room there is."""
    with file.open("wb", buffering=0) as taking:
        for size in (65536, 4096):
            with pytest.raises(OSError, match="No space left on device"):
                write_on(taking, size)


def test_a_full_disk_is_seen_on_the_open_page_and_so_is_its_end(demo: Holdwater, disk: Path, page: Page) -> None:
    page.goto(demo.url)
    expect(page.locator(".head-label").first).to_be_visible(timeout=15_000)
    trouble = page.locator(".top-trouble")
    expect(trouble).to_be_hidden()
    hog = Path(f"/proc/{demo.process.pid}/root{disk}/hog")
    fill(hog)
    expect(trouble).to_have_text("Nothing is being recorded", timeout=10_000)
    assert not page.locator(".silence").is_visible(), "the water is told as before"
    assert "full" in demo.state()["journal"]["why"]
    hog.unlink()
    expect(trouble).to_be_hidden(timeout=30_000)
