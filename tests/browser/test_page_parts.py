"""What of the monitor fails is on the page, a person at the rig resets the permit, and figures explain themselves."""

import pytest
from conftest import Held
from playwright.sync_api import Page, expect
from stub_server import load
from test_page_words import words

pytestmark = pytest.mark.browser

FIGURES = {
    ".head-time": "time", ".head-early": "early", ".head-trend": "trend", ".head-volume": "volume",
    ".picture": "picture", ".pump-does >> nth=0": "pump", ".pump-today >> nth=0": "today", ".pump-of-tap": "tap",
    ".advice": "advice", ".top-age": "age",
}  # fmt: skip
# what stands only now and then, or says another thing then: (state, selector, key)
OTHERS = [
    ("filling", ".head-time", "standing"), ("filling", ".head-early", "full_in"), ("holding", ".head-time", "standing"),
    ("full", ".head-time", "standing"), ("no-data", ".head-time", "unknown"), ("no-data", ".head-early", "unknown"),
    ("unsplit", ".pump-sum", "sum"), ("simulated", ".top-feed", "feed"),
    ("parts-broken", ".top-trouble", "trouble"), ("many-alarms", ".top-quiet", "quiet"),
    ("guessed", ".pump-aside >> nth=1", "pump"),
]  # fmt: skip


def closed(page: Page, name: str = "Close") -> None:
    page.locator(".sheet").get_by_role("button", name=name, exact=True).click()


def test_a_broker_gone_and_a_journal_that_fails_are_named_with_what_to_do(tablet: Held) -> None:
    tablet.show("parts-broken")
    page = tablet.page
    expect(page.locator(".top-trouble")).to_have_text("Nothing is being recorded, and 1 more")
    page.get_by_role("button", name="More").click()
    page.get_by_role("button", name="What does not work").click()
    for said in ("Broker out of reach", "are told nothing", "The disk is full. Make room on it."):
        expect(page.locator(".sheet")).to_contain_text(said)
    closed(page)
    tablet.show("falling")
    expect(page.locator(".top-trouble")).to_be_hidden()


def test_a_source_that_fails_is_named(tablet: Held) -> None:
    state = load("falling")
    state["feeds"] = [{**state["feeds"][0], "ok": False, "why": "The line is gone.", "do": "Plug it in."}]
    tablet.show(state)
    expect(tablet.page.locator(".top-trouble")).to_have_text("No readings by mqtt 1")


def test_a_stopped_permit_is_let_go_only_after_a_person_has_looked(tablet: Held) -> None:
    tablet.show("permit-stopped")
    page = tablet.page
    page.get_by_role("button", name="Permit stopped").click()
    sheet = page.locator(".sheet")
    expect(sheet).to_contain_text("Nobody answered the warning")
    go = sheet.get_by_role("button", name="Let the pumps run again")
    boxes = sheet.get_by_role("checkbox")
    assert boxes.count() == 3
    for i in range(3):
        expect(go).to_be_disabled()
        boxes.nth(i).check()
    go.click()
    expect(sheet).to_be_hidden()
    assert page.evaluate("() => told.pop()") == {"act": "reset-permit", "by": "crew page"}


def test_where_no_permit_is_given_none_is_spoken_of(tablet: Held) -> None:
    tablet.show({**load("permit-stopped"), "permit": {"on": True, "why": None}})
    expect(tablet.page.get_by_role("button", name="Permit stopped")).to_have_count(0)
    tablet.show("falling")
    expect(tablet.page.get_by_role("button", name="Permit stopped")).to_have_count(0)


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_figure_says_in_two_sentences_what_it_is_and_what_to_do(tablet: Held, language: str) -> None:
    tablet.show("falling", language)
    page, said = tablet.page, words(language)
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name=said["more.explain"]).click()
    for selector, key in FIGURES.items():
        page.locator(selector).click()
        expect(page.locator(".sheet .why")).to_have_text(said[f"why.{key}"])
        page.keyboard.press("Escape")  # no touch: a second one nearby would be taken for a bounce of the first
    page.get_by_role("button", name=said["act.explained"]).click()
    page.locator(".picture").click()
    expect(page.locator(".sheet-title")).to_have_text(said["day.title"])
    closed(page, said["act.close"])


def test_the_explanations_are_two_sentences() -> None:
    for language in ("en", "es"):
        texts = {key: text for key, text in words(language).items() if key.startswith("why.") and key != "why.title"}
        assert len(texts) == 18
        assert {key: text.count(". ") for key, text in texts.items() if text.count(". ") != 1} == {}


@pytest.mark.parametrize("language", ["en", "es"])
def test_what_stands_only_now_and_then_explains_itself_too(tablet: Held, language: str) -> None:
    """By a long press, which goes beside an alarm too."""
    page, said = tablet.page, words(language)
    for state, selector, key in OTHERS:
        tablet.show(state, language)
        page.locator(selector).hover()
        page.mouse.down()
        expect(page.locator(".sheet .why"), f"{state} {selector}").to_have_text(said[f"why.{key}"])
        page.mouse.up()
        page.keyboard.press("Escape")


def test_the_count_for_the_line_explains_itself(tablet: Held) -> None:
    state = load("falling")
    tablet.show({**state, "chemical": [{"pump": "Rides", "mode": "soap", "to_go_s": 8.6, "since": state["at"]}]})
    tablet.page.evaluate("() => held.explain.set(true)")
    tablet.page.locator(".soap").click()
    expect(tablet.page.locator(".sheet .why")).to_have_text(words("en")["why.soap"])
    tablet.page.evaluate("() => { held.sheet.close(); held.explain.stop(); }")


def test_every_figure_has_its_explanation() -> None:
    """No key without a figure that leads to it, and none beside those that are tried here."""
    tried = {*FIGURES.values(), *(key for _, _, key in OTHERS), "soap"}
    assert tried == {key.removeprefix("why.") for key in words("en") if key.startswith("why.")} - {"title"}


def test_a_long_press_explains_and_does_nothing_else(tablet: Held) -> None:
    tablet.show("falling")
    page = tablet.page
    page.locator(".picture").hover()
    page.mouse.down()
    expect(page.locator(".sheet .why")).to_be_visible()
    page.mouse.up()
    expect(page.locator(".sheet-title")).to_have_text("What is this?")
    closed(page)
    page.locator(".picture").click()
    expect(page.locator(".sheet-title")).to_have_text("The day")
    closed(page)


def test_an_alarm_that_speaks_ends_the_asking(tablet: Held) -> None:
    tablet.show("falling")
    tablet.page.evaluate("() => held.explain.start()")
    expect(tablet.page.locator('[data-act="act.explained"]')).to_be_visible()
    tablet.show("dry-soon")
    expect(tablet.page.get_by_role("button", name="Got it")).to_be_visible()
