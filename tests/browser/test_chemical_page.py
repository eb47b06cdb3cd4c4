"""The chemical page in a real Chromium on a real demo: touches that are counted on, sums in full, cautions first."""

import os
from collections.abc import Iterator

import pytest
from daemons import Holdwater, holdwater
from explained import explained
from playwright.sync_api import Browser, Page, expect
from test_page_access import found
from waiting import until

from monitor.rig.load import fairground

pytestmark = pytest.mark.browser

SOAP = """name = "Rides"
pressure = "3800 psi"
hose = { bore = "3/8 in", length = "150 ft", rated = "4000 psi" }
injector = { tank = "5 gal", strength = 6 }
"""
SMALL = """() => [...document.querySelectorAll("button, a.button, input, summary")].filter((n) => {
  const box = n.getBoundingClientRect();
  return box.width < 47.5 || box.height < 47.5;
}).map((n) => n.outerHTML)"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("chemical-page")
    (folder / "rig.toml").write_text(fairground().replace('name = "Rides"\n', SOAP, 1), "utf-8")
    env = {**os.environ, "TMPDIR": str(folder)}
    asked = ("demo", "--rig", "rig.toml", "--speed", "20", "--listen", "127.0.0.1:0")
    with holdwater(folder, *asked, env=env) as running:
        until(running.volume_l)
        yield running


@pytest.fixture
def soap(demo: Holdwater, chromium: Browser) -> Iterator[Page]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(f"{demo.url}/chemical?pump=Rides")
    expect(page.locator(".dilution")).to_be_visible()
    yield page
    assert complaints == []
    page.context.close()


def line(demo: Holdwater) -> dict:
    return next(each for each in demo.state()["chemical"] if each["pump"] == "Rides")


def test_a_draw_down_gives_the_mix_in_full_and_the_time_to_an_empty_tank(soap: Page, demo: Holdwater) -> None:
    """0.5 gal in 100 s are 0.3 gpm: arithmetic."""
    soap.get_by_label("Drawn (gal)").fill("0.5")
    soap.get_by_label("In (s)").fill("100")
    soap.get_by_role("button", name="Keep it").click()
    expect(soap.locator(".tank")).to_contain_text("Measured: 0.30 gpm")
    expect(soap.locator(".mix .sum").first).to_contain_text("Rides: 6.0 % × 0.30 gpm / (0.30 gpm + ")
    soap.get_by_role("button", name="Full: 5.0 gal").click()
    expect(soap.locator(".tank")).to_contain_text("With soap at the gun all the time that lasts 16 min")


def test_soap_is_counted_down_and_then_the_walk_knows_more(soap: Page, demo: Holdwater) -> None:
    soap.get_by_role("button", name="Restricted: soaping").click()
    until(lambda: line(demo)["mode"] == "soap")
    until(lambda: line(demo)["to_go_s"] == 0.0, 60.0)
    expect(soap.locator(".now .count")).to_have_text("Rides: soap at the gun")
    assert "line" not in line(demo)["look_at"]
    soap.get_by_role("button", name="Full flow: rinsing").click()
    until(lambda: line(demo)["mode"] == "clear")


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_touch_on_any_figure_says_what_it_is_and_it_stays_open(soap: Page, demo: Holdwater, language: str) -> None:
    """Two sentences each; the draw-down and the full tank are from above, and told again for a test run alone."""
    for more in ({"act": "drew-down", "volume_l": 1.9, "seconds": 100}, {"act": "chemical-filled", "volume_l": 18.9}):
        demo.http.post("/api/act", json={"by": "test", "pump": "Rides", **more})
    soap.get_by_role("button", name="Español").click() if language == "es" else None
    keys = [f"chemical.{key}" for key in ("count", "line", "left", "lasts", "injects", "gun")]
    explained(soap.locator(".asked"), f"chemical.{language}.json", keys)
    asked_s = demo.state()["at"]
    demo.http.post("/api/act", json={"act": "soaping", "by": "test", "pump": "Rides"})
    until(lambda: demo.state()["at"] > asked_s + 5.0)
    expect(soap.locator(".now .asked p").first).to_be_visible()
    demo.http.post("/api/act", json={"act": "rinsing", "by": "test", "pump": "Rides"})


def test_hose_is_added_by_a_touch(soap: Page, demo: Holdwater) -> None:
    before = line(demo)
    soap.get_by_role("button", name="+ 100 ft").click()
    until(lambda: line(demo)["line_s"] > 1.5 * before["line_s"])
    assert line(demo)["gun_pa"] < before["gun_pa"]
    expect(soap.locator(".hose")).to_contain_text("reach the gun")
    expect(soap.locator(".walk .accused", has_text="Was hose added")).to_be_visible()
    soap.get_by_role("button", name="None").click()
    until(lambda: line(demo)["extra_m"] == 0.0)


def test_the_dilution_is_shown_in_full(soap: Page) -> None:
    expect(soap.locator(".dilution .sum")).to_have_text(
        "3.0 % / 12.5 % × 5.00 gal = 1.20 gal of the strong one; 5.00 gal − 1.20 gal = 3.80 gal of water."
    )
    soap.get_by_label("of strength (%)").fill("20")
    expect(soap.locator(".dilution .sum")).to_contain_text("weaker")


def test_both_languages_both_units_every_size_and_axe_finds_nothing(soap: Page) -> None:
    for language in ("Español", "English"):
        soap.get_by_role("button", name=language).click()
        assert "[chemical" not in soap.inner_text("main")
    soap.get_by_role("button", name="Metric units").click()
    expect(soap.get_by_role("button", name="+ 30 m")).to_be_visible()
    for theme in ("sun", "night"):
        soap.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
        assert found(soap) == []
    for wide, high in ((1280, 800), (800, 1280), (390, 844)):
        soap.set_viewport_size({"width": wide, "height": high})
        assert soap.evaluate("document.documentElement.scrollWidth") <= wide
        assert soap.evaluate(SMALL) == []


def test_the_plan_leads_here(soap: Page, demo: Holdwater) -> None:
    soap.goto(f"{demo.url}/plan")
    soap.get_by_role("link", name="Soap and chemicals").click()
    expect(soap.get_by_role("heading", level=1)).to_have_text("Soap and chemicals")
