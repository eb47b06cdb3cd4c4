"""The page of a real daemon in a real Chromium: it lives, and says so loudly when the daemon is gone."""

import os
import re
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from brokers import Mosquitto
from daemons import Holdwater, holdwater, write_rig
from playwright.sync_api import Page, expect
from stub_server import load
from waiting import until

pytestmark = pytest.mark.browser

COVERED = """() => {
  const over = (x, y) => document.elementFromPoint(x, y)?.closest(".silence") !== null;
  const [w, h] = [innerWidth - 2, innerHeight - 2];
  return [[1, 1], [w, 1], [1, h], [w, h], [w / 2, h / 2]].every(([x, y]) => over(x, y));
}"""


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Holdwater]:
    env = {**os.environ, "TMPDIR": str(tmp_path)}
    with holdwater(tmp_path, "demo", "--speed", "60", "--listen", "127.0.0.1:0", env=env) as running:
        until(running.volume_l)
        yield running


@pytest.fixture
def told(page: Page) -> list[str]:
    """What the browser has to complain of: faults in a script, refusals by the policy, files that are not there."""
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None)
    page.on("response", lambda answer: complaints.append(answer.url) if answer.status >= 400 else None)
    return complaints


def test_the_page_lives_on_a_running_demo(demo: Holdwater, page: Page, told: list[str]) -> None:
    page.goto(demo.url)
    expect(page.locator(".digits").first).to_have_text(re.compile(r"\d"), timeout=15_000)
    expect(page.locator("body")).to_contain_text("SIMULATED")
    expect(page.locator("body")).to_contain_text("60 ×")
    volume = page.locator(".head-volume")
    first = volume.inner_text()
    expect(volume).not_to_have_text(first, timeout=15_000)
    for pump in ("Rides", "Stalls", "Stands"):
        expect(page.locator("body")).to_contain_text(pump)
    assert not page.locator(".silence").is_visible()
    assert told == []


def test_a_killed_daemon_covers_the_page(demo: Holdwater, page: Page, told: list[str]) -> None:
    page.goto(demo.url)
    expect(page.locator(".digits").first).to_have_text(re.compile(r"\d"), timeout=15_000)
    assert told == []
    demo.process.kill()
    expect(page.locator(".silence")).to_be_visible(timeout=4_000)
    assert page.evaluate(COVERED)


def test_a_daemon_that_hangs_covers_the_page_and_uncovers_it_when_it_goes_on(demo: Holdwater, page: Page) -> None:
    page.goto(demo.url)
    expect(page.locator(".digits").first).to_have_text(re.compile(r"\d"), timeout=15_000)
    demo.tell(signal.SIGSTOP)
    try:
        expect(page.locator(".silence")).to_be_visible(timeout=4_000)
    finally:
        demo.tell(signal.SIGCONT)
    expect(page.locator(".silence")).to_be_hidden(timeout=15_000)


@pytest.mark.broker
def test_a_broker_that_is_gone_is_seen_on_the_page(tmp_path: Path, page: Page) -> None:
    broker = Mosquitto(tmp_path)
    rig = write_rig(tmp_path / "rig.toml", f'mqtt = "{broker.url}"')
    with holdwater(tmp_path / "run", "run", rig) as daemon:
        try:
            until(lambda: all(feed["ok"] for feed in [*daemon.state()["feeds"], daemon.state()["notices"]]), 20.0)
            page.goto(daemon.url)
            expect(page.locator(".head-label").first).to_be_visible(timeout=15_000)
            expect(page.locator(".top-trouble")).to_be_hidden()
        finally:
            broker.kill()
        expect(page.locator(".top-trouble")).to_contain_text("No readings by mqtt 1, and 1 more", timeout=5_000)


def test_the_examples_have_what_a_daemon_says(demo: Holdwater) -> None:
    said, example = demo.state(), load("falling")
    own = {"past", "title"}
    assert set(example) - own == set(said)
    for key in ("rig", "forecast", "water", "supply"):
        assert set(example[key]) == set(said[key]), key
    assert set(example["pumps"][0]) == set(said["pumps"][0])


def test_what_is_touched_reaches_the_daemon(demo: Holdwater, page: Page) -> None:
    page.goto(demo.url)
    expect(page.locator(".digits").first).to_have_text(re.compile(r"\d"), timeout=15_000)
    demo.until_alarm("dry-soon", 60.0)
    with page.expect_response("**/api/act") as answered:
        page.get_by_role("button", name="Got it").click()
    assert answered.value.status == 204
    touched = answered.value.request.post_data_json
    assert touched["act"] == "acknowledge"
    until(lambda: demo.alarms().get(touched["alarm"]) != "unacknowledged", what="acknowledged")


def test_the_gallery_opens(demo: Holdwater, page: Page, told: list[str]) -> None:
    page.goto(f"{demo.url}/gallery")
    expect(page.get_by_role("heading", name="Example states")).to_be_visible()
    page.get_by_role("link", name="dry-soon", exact=True).click()
    expect(page.locator(".alarm-title").first).to_be_visible()
    assert told == []
