"""axe finds nothing, with 7:1 asked of every text; the two themes measured by the formula of WCAG 2.2."""

import re
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import NAMES, Held
from playwright.sync_api import Page, expect
from stub_server import Stub

pytestmark = pytest.mark.browser

RULES = {"color-contrast-enhanced": {"enabled": True}, "target-size": {"enabled": True}}
OPTIONS = {"rules": RULES, "resultTypes": ["violations"]}

# text on ground, as used in theme.css, crew.css and the picture
PAIRS = [
    ("ink", "paper"), ("soft", "paper"), ("ink", "card"), ("soft", "card"), ("ink", "glass"), ("ink", "water"),
    ("ink", "water-past"), ("ink", "fan"), ("soft", "glass"), ("on-stop", "stop"), ("on-soon", "soon"),
    ("on-cover", "cover"), ("paper", "ink"),
]  # fmt: skip


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb (WCAG 2.2, definition)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_agrees_with_the_standard() -> None:
    """WCAG 2.2: black on white is 21:1; #777777 on white is 4.48:1 (a value given in its techniques)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("theme", ["sun", "night"])
def test_every_text_stands_seven_to_one(tablet: Held, theme: str) -> None:
    tablet.show("falling", theme=theme)
    names = sorted({name for pair in PAIRS for name in pair})
    read = "(names) => names.map((n) => getComputedStyle(document.documentElement).getPropertyValue(`--${n}`).trim())"
    colours = dict(zip(names, tablet.page.evaluate(read, names), strict=True))
    weak = {pair: contrast(colours[pair[0]], colours[pair[1]]) for pair in PAIRS}
    assert {pair: round(value, 2) for pair, value in weak.items() if value < 7} == {}


def found(held_or_page: Held | Page) -> list[str]:
    """What axe, brought in once for each document, has to say of the page as it stands."""
    page = held_or_page.page if isinstance(held_or_page, Held) else held_or_page
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(Axe().axe_script)
    ask = "(options) => axe.run(document, options).then((told) => told.violations)"
    violations: list[dict[str, Any]] = page.evaluate(ask, OPTIONS)
    return [f"{v['id']}: {n['html'][:120]} {n['failureSummary'][:160]}" for v in violations for n in v["nodes"]]


@pytest.mark.parametrize(
    ("size", "theme", "language", "every"),
    [
        ("tablet", "sun", "en", 1),
        ("tablet", "night", "es", 3),
        ("phone", "sun", "es", 5),
        ("upright", "night", "en", 5),
    ],
)
def test_axe_finds_nothing(held_pages: dict[str, Held], size: str, theme: str, language: str, every: int) -> None:
    held = held_pages[size]
    faults = []
    for name in NAMES[::every]:
        held.show(name, language, theme)
        faults += [f"{name}: {fault}" for fault in found(held)]
    assert faults == []


@pytest.mark.parametrize("theme", ["sun", "night"])
def test_axe_finds_nothing_in_the_sheets(tablet: Held, theme: str) -> None:
    page = tablet.page
    faults = []
    for state, button in [
        ("falling", "More"), ("falling", "Packing up"), ("falling", "New place"), ("falling", "Full flow"),
        ("level-uncertain", "Quiet for…"), ("many-alarms", "All 3 alarms"),
    ]:  # fmt: skip
        tablet.show(state, theme=theme)
        page.get_by_role("button", name=button).click()
        faults += [f"{button}: {fault}" for fault in found(page)]
    page.get_by_role("button", name="Close").click()
    tablet.show("falling", theme=theme)
    page.get_by_role("button", name="More").click()
    page.get_by_role("button", name="I looked").click()
    faults += [f"stands here: {fault}" for fault in found(page)]
    page.get_by_role("button", name="Close").click()
    assert faults == []


def test_axe_finds_nothing_in_the_notice_of_silence(page: Page, stub: Stub) -> None:
    page.clock.install(time="2026-11-25T10:00:00")
    page.goto(stub.url)
    expect(page.locator(".digits")).to_have_text("15")
    stub.tell(silent=True)
    page.clock.run_for(5000)
    expect(page.locator(".silence")).to_be_visible()
    assert found(page) == []


def test_nothing_moves_for_those_who_ask_for_it(tablet: Held) -> None:
    tablet.page.emulate_media(reduced_motion="reduce")
    tablet.show("dry-soon")
    moving = tablet.page.evaluate("() => document.getAnimations().length")
    tablet.page.emulate_media(reduced_motion="no-preference")
    assert moving == 0


def test_calm_has_no_colour(tablet: Held) -> None:
    """Red and amber are for what has to be done; a calm page holds neither."""
    painted = """() => [...document.querySelectorAll("body, body *")].flatMap((n) => {
      if (!n.checkVisibility()) return [];
      const s = getComputedStyle(n);
      return [s.color, s.backgroundColor, s.fill, s.stroke, s.borderTopColor].filter((c) => c.startsWith("rgb"));
    })"""
    for name in ("falling", "holding", "filling", "full", "idle"):
        tablet.show(name)
        seen = {tuple(map(int, re.findall(r"\d+", colour)[:3])) for colour in tablet.page.evaluate(painted)}
        vivid = [rgb for rgb in seen if max(rgb) - min(rgb) > 60]
        assert vivid == [], name


def test_an_alarm_that_is_over_holds_no_colour_and_asks_to_be_seen(tablet: Held) -> None:
    tablet.show("dry-soon-over")
    ground = tablet.page.evaluate("() => getComputedStyle(document.querySelector('.alarm')).backgroundColor")
    assert ground == "rgba(0, 0, 0, 0)"
    expect(tablet.page.locator(".alarm")).to_contain_text("over now, nobody saw it")
    expect(tablet.page.get_by_role("button", name="Got it")).to_be_visible()


def test_uncertain_and_unknown_look_unlike_certain(tablet: Held) -> None:
    looks = {}
    for name in ("falling", "level-uncertain", "no-data"):
        tablet.show(name)
        looks[name] = tablet.page.evaluate(
            """() => { const s = getComputedStyle(document.querySelector(".digits"));
            const b = getComputedStyle(document.querySelector(".head-main"));
            return [document.querySelector(".head").dataset.look, s.color, s.backgroundImage, b.borderTopStyle]; }"""
        )
    assert len({tuple(look) for look in looks.values()}) == 3
    tablet.show("level-uncertain")
    expect(tablet.page.locator(".head-label").first).to_contain_text("not sure")
    assert tablet.page.locator(".tank-doubt").count() == 1
    tablet.show("no-data")
    expect(tablet.page.locator(".digits")).to_have_text("?")
    assert tablet.page.locator(".tank-water").count() == 0
