"""The plan page in a real Chromium on a real demo: a slide asks again, all words are there, nothing is too small."""

import os
from collections.abc import Iterator

import pytest
from daemons import Holdwater, holdwater
from playwright.sync_api import Browser, Page, Route, expect
from test_bench_page import SMALL
from test_page_access import found
from waiting import until

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("plan-page")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "demo", "--speed", "40", "--listen", "127.0.0.1:0", env=env) as running:
        until(running.volume_l)
        yield running


@pytest.fixture
def plan(demo: Holdwater, chromium: Browser) -> Iterator[Page]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(f"{demo.url}/plan")
    expect(page.locator(".figures")).to_be_visible(timeout=60_000)  # two hundred days are played first
    yield page
    assert complaints == []
    page.context.close()


def test_what_does_not_answer_at_first_is_asked_again(demo: Holdwater, chromium: Browser) -> None:
    """The words as well as the plan: a page that gave up would say for ever that it asks."""
    page = chromium.new_context().new_page()
    asked: list[str] = []

    def refuse_once(route: Route) -> None:
        address = route.request.url.partition("?")[0]
        refuses = asked.count(address) < (2 if address.endswith("/api/plan") else 1)
        asked.append(address)
        route.abort() if refuses else route.continue_()

    page.route("**/static/words/*", refuse_once)
    page.route("**/api/plan?*", refuse_once)
    page.goto(f"{demo.url}/plan")
    expect(page.locator(".figures")).to_be_visible(timeout=60_000)
    page.context.close()


def test_sliding_the_tap_up_lets_the_water_last(plan: Page) -> None:
    plan.get_by_role("slider", name="It gives").fill("76")
    expect(plan.locator(".lasts")).to_have_text("The water lasts")
    plan.get_by_role("slider", name="It gives").fill("0")
    expect(plan.locator(".lasts")).to_have_text("The water hardly lasts")


def test_a_shut_tap_gives_a_bound_and_says_so(plan: Page) -> None:
    plan.get_by_role("button", name="Gauge, tap shut").click()
    expect(plan.locator(".bound")).to_contain_text("at best")


def test_a_figure_says_what_it_is(plan: Page) -> None:
    plan.locator(".figure.bring summary").click()
    expect(plan.locator(".figure.bring p")).to_be_visible()


def test_what_was_opened_stays_open_when_another_answer_comes(plan: Page) -> None:
    plan.locator(".figure.bring summary").click()
    before = plan.locator(".figure.bring").element_handle()
    plan.get_by_role("slider", name="It gives").fill("76")
    expect(plan.locator(".lasts")).to_have_text("The water lasts")
    assert before is not None
    assert not before.evaluate("(drawn) => drawn.isConnected")  # drawn anew
    expect(plan.locator(".figure.bring p")).to_be_visible()


def test_both_languages_and_both_units_without_a_word_missing(plan: Page) -> None:
    for language in ("Español", "English"):
        plan.get_by_role("button", name=language).click()
        for _ in range(2):
            plan.get_by_role("button", name="étric" if language == "Español" else "Metric").or_(
                plan.get_by_role("button", name="EE. UU." if language == "Español" else "US units")
            ).click()
            assert "[plan" not in plan.inner_text("main")


@pytest.mark.parametrize("size", [(1280, 800), (800, 1280), (390, 844)])
def test_it_fits_is_large_enough_and_axe_finds_nothing(plan: Page, size: tuple[int, int]) -> None:
    plan.set_viewport_size({"width": size[0], "height": size[1]})
    assert plan.evaluate("document.documentElement.scrollWidth") <= size[0]
    assert plan.evaluate(SMALL) == []
    for theme in ("sun", "night"):
        plan.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
        assert found(plan) == []
