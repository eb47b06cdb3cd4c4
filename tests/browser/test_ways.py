"""From the crew page to every other one and back, by touch, in the language and the colours that were chosen."""

import os
import re
from collections.abc import Iterator

import pytest
from daemons import Holdwater, holdwater
from playwright.sync_api import Page, expect
from waiting import until

pytestmark = pytest.mark.browser

PAGES = {
    "chemical": "Jabón y químicos", "plan": "El agua del día", "books": "El libro de", "sites": "Sitios",
    "history": "Lo que fue", "alarms": "¿Se cree en las alarmas?",
    "practice": "Práctica", "owner": "Dueño", "bench": "Banco",
}  # fmt: skip
SMALL = """() => [...document.querySelectorAll(".ways a")].map((n) => n.getBoundingClientRect())
  .filter((box) => box.width < 110 || box.height < 110).length"""
STEPS = """async ([zone, since, until, step]) => {
  const { zoneShift_s, wholeSteps } = await import("/static/history/zone.js");
  return wholeSteps({ since, until }, step, (at) => zoneShift_s(at, zone));
}"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("ways")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "demo", "--speed", "1", "--listen", "127.0.0.1:0", env=env) as running:
        until(running.volume_l)
        yield running


def test_there_and_back_in_what_was_chosen(demo: Holdwater, page: Page) -> None:
    page.goto(demo.url)
    more = page.locator('[data-act="act.more"]')
    more.click()
    page.get_by_role("button", name="Español").click()
    page.get_by_role("button", name="Colores de noche").click()
    expect(page.locator(".ways a")).to_have_count(len(PAGES))
    for name, title in PAGES.items():
        page.locator(f'.ways a[href="/{name}"]').click()
        expect(page.get_by_role("heading", level=1)).to_contain_text(title)
        assert page.evaluate("document.documentElement.dataset.theme") == "night"
        page.get_by_role("link", name="Página de la cuadrilla").click()
        more.click()


def test_the_ways_are_large_and_no_page_is_wider_than_its_screen(demo: Holdwater, page: Page) -> None:
    sizes = [{"width": width, "height": height} for width, height in ((1280, 800), (800, 1280), (390, 844))]
    page.goto(demo.url)
    page.locator('[data-act="act.more"]').click()
    expect(page.locator(".ways a")).to_have_count(len(PAGES))
    for size in sizes:
        page.set_viewport_size(size)
        assert page.evaluate(SMALL) == 0, size
    page.evaluate("localStorage.setItem('holdwater.language', 'es')")
    for name, title in PAGES.items():
        page.goto(f"{demo.url}/{name}")
        expect(page.get_by_role("heading", level=1)).to_contain_text(title)
        for size in sizes:
            page.set_viewport_size(size)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (name, size)


def test_every_page_takes_up_what_is_chosen_on_it(demo: Holdwater, page: Page) -> None:
    for name in PAGES:
        page.goto(f"{demo.url}/{name}")
        page.get_by_role("button", name="Español").click()
        page.get_by_role("button", name="Colores de noche").click()
        page.reload()
        page.get_by_role("button", name="Colores de sol").click()
        page.get_by_role("button", name="English").click()
        expect(page.get_by_role("link", name="Crew page")).to_be_visible()


def test_what_a_device_may_not_open_is_not_shown(demo: Holdwater, page: Page) -> None:
    page.route("**/api/ways", lambda route: route.fulfill(json={"pages": ["history", "plan", "alarms"]}))
    page.goto(demo.url)
    page.locator('[data-act="act.more"]').click()
    expect(page.locator(".ways a")).to_have_text([re.compile("What was"), re.compile("Plan"), re.compile("alarms")])


def test_on_a_rig_the_practice_page_says_where_drills_are_begun(demo: Holdwater, page: Page) -> None:
    page.goto(f"{demo.url}/practice")
    expect(page.locator("main")).to_contain_text("run “holdwater practice”")
    expect(page.locator("article")).to_have_count(3)
    expect(page.locator("article button")).to_have_count(0)
    assert demo.http.post("/api/practice/begin", json={"drill": "no-soap"}).status_code == 404


def test_the_axis_keeps_the_hours_of_the_rigs_place(demo: Holdwater, page: Page) -> None:
    page.goto(f"{demo.url}/history")
    noon = 1_780_294_500  # 2026-06-01 12:00 in Kathmandu, 5 h 45 min ahead of UTC
    assert noon % 3600 == 900, "no whole hour of UTC"
    assert page.evaluate(STEPS, ["Asia/Kathmandu", noon - 100, noon + 7000, 3600]) == [noon, noon + 3600]
    midnight = 1_772_949_600  # 2026-03-08 00:00 in Chicago, a day of 23 h
    days = page.evaluate(STEPS, ["America/Chicago", midnight, midnight + 46 * 3600, 86400])
    assert days == [midnight, midnight + 23 * 3600]
