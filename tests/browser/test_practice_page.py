"""A drill from the first touch to the score, in a real Chromium on the real command."""

import os
from collections.abc import Iterator

import httpx
import pytest
from daemons import Holdwater, holdwater
from playwright.sync_api import Browser, Page, expect
from test_bench_page import SMALL
from test_page_access import found
from waiting import until

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def practice(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("practice")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "practice", "--speed", "12", "--listen", "127.0.0.1:0", env=env) as running:
        running.url = running.url.removesuffix("/practice")
        running.http = httpx.Client(base_url=running.url, timeout=10.0)
        yield running


@pytest.fixture
def hand(practice: Holdwater, chromium: Browser) -> Iterator[Page]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(f"{practice.url}/practice")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    yield page
    assert complaints == []
    page.context.close()


def standing(practice: Holdwater) -> dict:
    try:
        return practice.http.get("/api/practice").json()["practice"]
    except httpx.HTTPError:
        return {}  # one day ends, the next begins


def test_from_the_choice_to_the_score(hand: Page, practice: Holdwater) -> None:
    hand.locator("article", has_text="No soap").get_by_role("button").click()
    until(lambda: standing(practice).get("drill") == "no-soap", 60.0)
    hand.get_by_role("link", name="To the crew page").click()
    banner = hand.locator(".practice-banner")
    expect(banner).to_contain_text("PRACTICE")
    until(lambda: any(pump["state"] == "draws" for pump in practice.state()["pumps"]), 60.0)
    hand.locator('[data-act="act.soaping"]').click()
    hand.get_by_role("button", name="Front", exact=True).click()
    until(lambda: "did:soaping" in standing(practice)["said"])
    began = standing(practice)["passed_s"]
    until(lambda: standing(practice)["passed_s"] > began + 15.0)
    banner.get_by_role("button", name="What do you do?").click()
    hand.get_by_role("button", name="Look at the nozzle").click()
    expect(hand.locator(".practice-said")).to_contain_text("high-pressure nozzle")
    until(lambda: standing(practice)["over"])
    hand.get_by_role("button", name="Back to the page").click()
    banner.get_by_role("link", name="see how it went").click()
    expect(hand.locator(".score")).to_contain_text("10 of 10 points")
    expect(hand.locator(".score")).to_contain_text("Very well done")


def test_the_banner_stands_over_every_page_and_no_horn_is_blown(hand: Page, practice: Holdwater) -> None:
    for path in ("/", "/plan", "/chemical", "/books", "/history", "/alarms", "/owner", "/bench", "/practice"):
        hand.goto(f"{practice.url}{path}")
        banner = hand.locator(".practice-banner")
        expect(banner).to_contain_text("PRACTICE")
        assert banner.bounding_box()["width"] >= 1200, path
        hand.mouse.wheel(0, 2000)
        expect(banner).to_be_in_viewport()
    state = practice.state()
    assert (state["horn"], state["permit"], state["notices"]) == (None, None, None)
    refused = practice.http.post("/api/act", json={"act": "test-horn"})
    assert (refused.status_code, "No horn was blown" in refused.text) == (409, True)
    assert practice.http.post("/api/act", json={"act": "reset-permit"}).status_code == 409
    assert practice.http.post("/api/practice/do", json={"hand": "start-a-fire"}).status_code == 422


def test_both_languages_every_size_and_axe_finds_nothing(hand: Page) -> None:
    for language in ("Español", "English"):
        hand.get_by_role("button", name=language).click()
        expect(hand.locator(".practice-banner")).to_contain_text("PRÁCTICA" if language == "Español" else "PRACTICE")
        assert "[practice" not in hand.inner_text("body")
    for theme in ("sun", "night"):
        hand.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
        assert found(hand) == []
    for wide, high in ((1280, 800), (800, 1280), (390, 844)):
        hand.set_viewport_size({"width": wide, "height": high})
        assert hand.evaluate("document.documentElement.scrollWidth") <= wide
        assert hand.evaluate(SMALL) == []
