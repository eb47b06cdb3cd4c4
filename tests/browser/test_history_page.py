"""What was, in a real Chromium on a real demo: signals are chosen, time is dragged and stretched, emptiness is said."""

import json
import os
from collections.abc import Iterator

import pytest
from daemons import Holdwater, holdwater
from playwright.sync_api import Browser, Page, expect
from stub_server import DASHBOARDS
from test_page_access import found
from waiting import until

pytestmark = pytest.mark.browser

SMALL = """() => [...document.querySelectorAll("button, summary")].filter((n) => {
  const box = n.getBoundingClientRect();
  return box.width < 47.5 || box.height < 47.5;
}).map((n) => n.textContent)"""
INKED = """() => {
  const canvas = document.querySelector("canvas");
  const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  return data.filter((value, index) => index % 4 === 3 && value > 0).length;
}"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("history-page")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "demo", "--speed", "100", "--seed", "5", "--listen", "127.0.0.1:0", env=env) as running:
        running.until_alarm("dry-soon", 40.0)
        until(lambda: running.http.get("/api/history/signals").json().get("last"), 30.0, "the journal is written")
        yield running


@pytest.fixture
def page(demo: Holdwater, chromium: Browser) -> Iterator[Page]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(f"{demo.url}/history")
    expect(page.get_by_role("heading", name="What was")).to_be_visible()
    expect(page.get_by_role("button", name="Water in the tank")).to_be_visible()
    yield page
    assert complaints == []
    page.context.close()


def asks(page: Page, act) -> dict[str, float]:
    """The window that is asked for after an act."""
    with page.expect_request(lambda request: "/api/history?" in request.url) as asked:
        act()
    pairs = dict(part.split("=") for part in asked.value.url.split("?")[1].split("&"))
    return {name: float(pairs[name]) for name in ("since", "until")}


def test_the_mouse_drags_it_and_the_wheel_stretches_it(page: Page) -> None:
    before = asks(page, page.get_by_role("button", name="Hour").click)
    box = page.locator("canvas").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def drag() -> None:
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 200, y, steps=2)
        page.mouse.up()

    dragged = asks(page, drag)
    assert dragged["until"] < before["until"], "what was earlier comes into view"
    assert dragged["until"] - dragged["since"] == pytest.approx(3600, abs=0.01)
    nearer = asks(page, lambda: page.mouse.wheel(0, -400))
    assert nearer["until"] - nearer["since"] < 3000


def test_one_finger_drags_it_and_two_stretch_it(page: Page) -> None:
    before = asks(page, page.get_by_role("button", name="Hour").click)
    box = page.locator("canvas").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    hands = page.context.new_cdp_session(page)

    def touch(kind: str, *at: float) -> None:
        points = [{"x": each, "y": y, "id": finger} for finger, each in enumerate(at)]
        hands.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def go(*steps: tuple[float, ...]) -> None:
        for kind, at in zip(["touchStart"] + ["touchMove"] * len(steps), steps, strict=False):
            touch(kind, *at)
        touch("touchEnd")

    dragged = asks(page, lambda: go((x,), (x + 100,), (x + 200,)))
    assert dragged["until"] < before["until"], "what was earlier comes into view"
    assert dragged["until"] - dragged["since"] == pytest.approx(3600, abs=0.01)
    nearer = asks(page, lambda: go((x - 50, x + 50), (x - 100, x + 100), (x - 200, x + 200)))
    assert nearer["until"] - nearer["since"] < 3000, "fingers that part come nearer"


def test_a_signal_is_chosen_and_given_up_by_a_click(page: Page) -> None:
    level = page.get_by_role("button", name="tank/level")
    with page.expect_response(lambda answer: "tank%2Flevel" in answer.url):
        level.click()
    expect(level).to_have_attribute("aria-pressed", "true")
    level.click()
    expect(level).to_have_attribute("aria-pressed", "false")
    assert page.evaluate(INKED) > 1000, "something is drawn"


def test_a_touch_says_what_the_curves_are(page: Page) -> None:
    page.get_by_text("What the curves are").click()
    expect(page.locator(".asked p")).to_contain_text("The line is the mean of a signal")


def test_it_says_where_nothing_was_kept(page: Page) -> None:
    page.get_by_role("button", name="Hour").click()
    page.locator("canvas").focus()
    for _ in range(80):
        page.keyboard.press("ArrowLeft")
    expect(page.get_by_role("status")).to_contain_text("Nothing was kept in this time")
    page.get_by_role("button", name="Newest").click()
    expect(page.get_by_role("status")).to_be_hidden()


def test_both_languages_and_units_and_big_enough_for_a_thumb(page: Page) -> None:
    assert page.evaluate(SMALL) == []
    assert found(page) == []
    page.get_by_role("button", name="Metric").click()
    expect(page.get_by_role("button", name="Water in the tank (L)")).to_be_visible()
    page.get_by_role("button", name="Español").click()
    expect(page.get_by_role("heading", name="Lo que fue")).to_be_visible()
    page.get_by_role("button", name="Noche").click()
    assert found(page) == []


def test_both_languages_have_the_same_words() -> None:
    english, spanish = (
        json.loads((DASHBOARDS / "words" / f"history.{language}.json").read_text("utf-8")) for language in ("en", "es")
    )
    assert english.keys() == spanish.keys()
