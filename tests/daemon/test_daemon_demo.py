"""``holdwater demo``: it starts with nothing set up, tells its story, serves its pages, and ends when told."""

import os
import threading
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from daemons import Holdwater, command, holdwater
from waiting import until

FAST = ("demo", "--speed", "200", "--listen", "127.0.0.1:0")


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Holdwater]:
    with holdwater(tmp_path, *FAST, env={**os.environ, "TMPDIR": str(tmp_path)}) as running:
        yield running


def test_the_story_falls_to_dry_soon(demo: Holdwater, tmp_path: Path) -> None:
    """At two hundred times the speed of life; the story has it between 6 and 30 minutes after its beginning."""
    first = until(lambda: demo.state() if demo.volume_l() else None)
    assert (first["source"], first["scenario"], first["speed"]) == ("simulated", "fairground", 200.0)
    until(lambda: demo.state()["water"]["trend"] == "falling", 20.0, "the water falls")
    seen = [demo.volume_l()]  # a busy machine looks for the first time when the crew waits for water already

    def falls_on() -> bool:
        seen.append(demo.volume_l())
        return seen[-1] < max(seen) - 20.0

    until(falls_on, 40.0, "and falls on")
    demo.until_alarm("dry-soon", 40.0)
    assert "unacknowledged" in demo.alarms()["dry-soon"]
    assert list(tmp_path.glob("holdwater-demo-*/holdwater.db"))


def test_page_state_and_health_are_served(demo: Holdwater) -> None:
    page = demo.http.get("/")
    assert page.status_code == 200
    assert page.headers["content-type"].startswith("text/html")
    assert "default-src 'self'" in page.headers["content-security-policy"]
    assert demo.http.get("/gallery").status_code == 200
    until(lambda: demo.health()[0] == 200, what="healthy")
    assert all(part == {"ok": True, "why": "", "do": ""} for part in demo.health()[1].values())


def test_a_stream_is_never_silent_for_long(demo: Holdwater) -> None:
    with demo.http.stream("GET", "/api/live") as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        said = [line for line, _ in zip(stream.iter_lines(), range(40), strict=False) if line.startswith("data: ")]
    assert len(said) >= 10


def test_ctrl_c_ends_it_at_once_with_a_page_open(demo: Holdwater, tmp_path: Path) -> None:
    opened, ended = threading.Event(), threading.Event()

    def watch() -> None:
        with httpx.stream("GET", f"{demo.url}/api/live", timeout=10.0) as stream:
            for _ in stream.iter_lines():
                opened.set()
        ended.set()

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    assert opened.wait(10.0)
    assert demo.stop(within_s=3.0) == 0
    assert ended.wait(3.0), "the stream is closed, not torn"
    assert "Traceback" not in demo.said()
    assert "has stopped" in demo.out.read_text("utf-8")
    assert not list(tmp_path.glob("holdwater-demo-*")), "the demo leaves nothing behind"


def test_an_unknown_scenario_is_a_sentence() -> None:
    ended = command("demo", "no-such-day")
    assert ended.returncode != 0
    assert "no-such-day" in ended.stderr
    assert "Traceback" not in ended.stderr
