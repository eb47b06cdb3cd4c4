"""The alarm page in a real Chromium on a real daemon whose tank runs low: rate, record, catalogue, out of service."""

import json
import os
import re
from collections.abc import Iterator

import pytest
from daemons import Holdwater, holdwater, write_rig
from explained import explained
from playwright.sync_api import Browser, Page, expect
from ports import Port
from stub_server import DASHBOARDS
from talkers import level, talking
from test_page_access import found
from test_page_words import places
from waiting import until

from monitor.alarms.catalogue import ALARMS

pytestmark = pytest.mark.browser

SIZES = {"tablet": (1280, 800), "upright": (800, 1280), "phone": (390, 844)}
SMALL = """() => [...document.querySelectorAll("button, summary")].filter((n) => {
  const box = n.getBoundingClientRect();
  return box.width < 47.5 || box.height < 47.5;
}).map((n) => n.textContent)"""
FIGURES = ("rate.told", "rate.in_ten", "rate.most", "rate.floods")
WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def low(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    """A rig whose water is at the heel: alarms stand, and are in the journal."""
    folder = tmp_path_factory.mktemp("alarm-page")
    port = Port(folder / "ttyNODE")
    rig = write_rig(folder / "rig.toml", f'serial = "{port.name}"')
    with holdwater(folder, "run", rig) as running, talking(["cat"], _at_the_heel, **port.writer()):
        running.until_alarm("dry", 30.0)
        running.until_alarm("water-low", 40.0)
        running.http.post("/api/act", json={"act": "acknowledge", "alarm": "dry", "by": "Ana"})
        until(lambda: _record(running)["told"] >= 1, 20.0, "in the journal")
        until(lambda: any(one["by"] == "Ana" for one in _record(running)["stood"]), 20.0, "who saw it")
        yield running
    port.pull_out()


def _at_the_heel(s: float) -> list[dict]:
    return level(0.15 + 0.001 * (s * 5 % 2 < 1))


def _record(running: Holdwater) -> dict:
    return running.http.get("/api/alarms/record?hours=8").json()


@pytest.fixture(scope="module")
def page(low: Holdwater, chromium: Browser) -> Iterator[Page]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.complaints = []  # type: ignore[attr-defined]
    page.on("pageerror", lambda error: page.complaints.append(str(error)))  # type: ignore[attr-defined]
    page.on("console", lambda said: page.complaints.append(said.text) if said.type == "error" else None)  # type: ignore[attr-defined]
    page.goto(f"{low.url}/alarms")
    expect(page.locator(".entry")).to_have_count(len(ALARMS))
    yield page
    page.context.close()


def test_it_says_how_often_alarms_called_and_who_saw_them(page: Page) -> None:
    expect(page.locator(".verdict")).to_be_visible()
    expect(page.locator("table").last).to_contain_text("Dry: stop the pumps")
    expect(page.locator("table").last).to_contain_text("Ana, after")
    expect(page.locator("table").last).to_contain_text("Let go of the triggers.")
    assert page.complaints == []  # type: ignore[attr-defined]


def test_a_touch_on_a_figure_says_in_two_sentences_what_it_is_and_what_to_do(page: Page) -> None:
    explained(page.locator(".figures .asked"), "alarms.en.json", list(FIGURES))


def test_the_owner_takes_an_alarm_out_of_service_and_back_but_never_a_critical_one(page: Page, low: Holdwater) -> None:
    page.on("dialog", lambda dialog: dialog.accept())
    entry = page.locator(".entry", has_text="Water under the band").first
    entry.locator("summary").click()
    entry.get_by_role("button", name="Take out of service").click()
    until(lambda: low.alarms().get("water-low") == "out of service", what="out of service")
    expect(page.locator(".standing")).to_contain_text("out of service")
    page.locator(".standing").get_by_role("button", name="Put back into service").first.click()
    until(lambda: low.alarms().get("water-low") == "suppressed by design", what="back, and listed under its cause")
    dry = page.locator(".entry", has_text="Dry: stop the pumps").first
    dry.locator("summary").click()
    assert dry.get_by_role("button").count() == 0
    refused = low.http.post("/api/act", json={"act": "out-of-service", "alarm": "dry"})
    assert refused.status_code == 409
    assert "critical" in refused.json()["error"]


@pytest.mark.parametrize("size", SIZES)
def test_it_fits_and_can_be_touched_and_read(page: Page, size: str) -> None:
    page.set_viewport_size(dict(zip(("width", "height"), SIZES[size], strict=True)))
    assert page.evaluate(WIDE) <= 0
    assert page.evaluate(SMALL) == []
    assert found(page) == []
    if out := os.environ.get("PICTURES"):
        page.screenshot(path=f"{out}/alarms-{size}.png", full_page=True)


def test_it_speaks_spanish(page: Page) -> None:
    page.get_by_role("button", name="Español").click()
    expect(page.locator("h1")).to_have_text("¿Se cree en las alarmas?")
    assert not re.search(r"\[(rate|out|cat|horn|laid|alarm|more)\.", page.content())
    page.get_by_role("button", name="English").click()


def test_both_languages_have_the_same_words() -> None:
    english, spanish = (
        json.loads((DASHBOARDS / "words" / f"alarms.{language}.json").read_text("utf-8")) for language in ("en", "es")
    )
    assert list(english) == list(spanish)
    assert all(places(english[key]) == places(spanish[key]) for key in english)
    text = "".join(file.read_text("utf-8") for file in (DASHBOARDS / "alarms").glob("*.js"))
    used = set(re.findall(r'"((?:rate|out|cat|horn|laid)\.[a-z_0-9]+)"', text))
    assert used <= set(english)
    made = ("rate.verdict_", "cat.mode_", "horn.test_")
    left = {key for key in english if key not in used and not key.startswith(made)}
    assert left == {f"{figure}_why" for figure in FIGURES}
