"""The books in a real Chromium on a real daemon: on the screen and on paper, in both languages and units."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import made_books
import pytest
from daemons import Holdwater, holdwater, write_rig
from playwright.sync_api import Browser, Page, expect
from test_bench_page import SMALL
from test_page_access import found

pytestmark = pytest.mark.browser

LAST = made_books.BEGAN + 86_400.0 * (made_books.DAYS - 1) + 10_800.0
ADDRESSES = {
    "month": "/books?month=2026-11", "job": f"/books?job={LAST}", "sites": "/sites",
    "site": "/sites?site=North%20field",
}  # fmt: skip
PAPER = {"A4": (595, 842), "Letter": (612, 792)}
STATE = {
    "version": 1,
    "jobs": {
        "sites": {
            "North field": {
                "visited": LAST, "hose": "5/8 in, 50 ft", "note": "tap behind the shed",
                "hours": {"13": [3600.0, 19.0, 17.5, 20], "14": [1800.0, 18.0, 15.0, 19], "17": [900.0, 12.0, 9.0, 14]},
            }
        },
        "here": "", "job": None,
    },
}  # fmt: skip


@pytest.fixture(scope="module")
def rig(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    """A live rig that hears nothing, with a month in its journal and a site in its state."""
    folder = tmp_path_factory.mktemp("books-page")
    file = write_rig(folder / "rig.toml", 'serial = "/dev/nothing-here"', name="Box trailer")
    file.write_text(file.read_text("utf-8").replace("[rig]\n", '[rig]\ntimezone = "America/Chicago"\n', 1), "utf-8")
    made_books.write(folder / "holdwater.db")
    (folder / "holdwater.state.json").write_text(json.dumps(STATE), "utf-8")
    with holdwater(folder, "run", file) as running:
        yield running


@pytest.fixture
def sheet(rig: Holdwater, chromium: Browser) -> Iterator[Page]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    assert complaints == []
    page.context.close()


def opened(sheet: Page, rig: Holdwater, name: str) -> Page:
    sheet.goto(f"{rig.url}{ADDRESSES[name]}")
    expect(sheet.locator("footer")).to_be_visible()
    return sheet


def pages_of(pdf: bytes) -> list[tuple[int, int]]:
    """The size of each page, in points."""
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", pdf)
    return [(round(float(wide)), round(float(high))) for wide, high in boxes]


def test_from_the_month_to_a_job_to_its_site_and_back(sheet: Page, rig: Holdwater) -> None:
    opened(sheet, rig, "month")
    expect(sheet.get_by_role("heading", level=1)).to_have_text("The book of November 2026")
    assert sheet.locator("section").first.locator("tbody tr").count() == made_books.DAYS + 1
    expect(sheet.locator(".sum")).to_have_count(1)
    sheet.locator('tbody a[href^="/books?job="]').first.click()
    expect(sheet.get_by_role("heading", level=1)).to_contain_text("Job sheet: North field")
    sheet.get_by_role("link", name="The site").click()
    expect(sheet.locator("main")).to_contain_text("It sagged: from")
    expect(sheet.locator("main")).to_contain_text("7:00")  # 13 o'clock UTC in Chicago in November
    sheet.get_by_role("link", name="The books").click()
    sheet.get_by_role("link", name="Crew page").click()


def test_a_touch_on_a_figure_says_what_it_is(sheet: Page, rig: Holdwater) -> None:
    opened(sheet, rig, "month")
    sheet.locator("summary", has_text="Water in").click()
    expect(sheet.locator("details[open] p")).to_contain_text("What the meter counted")


def test_the_columns_add_up_in_either_unit(sheet: Page, rig: Holdwater) -> None:
    opened(sheet, rig, "month")
    for unit in ("gal", "L"):
        table = sheet.locator("section").first.locator("table")
        assert f"({unit})" in table.inner_text()
        cells = [float(each.replace(",", "")) for each in table.locator(".sum td").all_inner_texts()[1:4]]
        assert cells[0] == pytest.approx(cells[1] + cells[2], abs=1.1)
        sheet.get_by_role("button", name="etric units" if unit == "gal" else "US units").click()


@pytest.mark.parametrize("name", ADDRESSES)
@pytest.mark.parametrize("paper", PAPER)
def test_on_paper_it_is_that_size_with_no_button_and_nothing_cut_off(
    sheet: Page, rig: Holdwater, name: str, paper: str
) -> None:
    opened(sheet, rig, name)
    sheet.evaluate("document.documentElement.dataset.theme = 'night'")  # by night too it is black on white
    sizes = pages_of(sheet.pdf(format=paper, prefer_css_page_size=False))
    assert all(each == pytest.approx(PAPER[paper], abs=1.0) for each in sizes)
    assert len(sizes) <= (4 if name == "month" else 1)
    sheet.emulate_media(media="print")
    sheet.set_viewport_size({"width": 680, "height": 900})  # a sheet's width between its margins
    expect(sheet.locator(".tools")).to_be_hidden()
    assert sheet.evaluate("document.documentElement.scrollWidth") <= 680
    assert sheet.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert sheet.evaluate("getComputedStyle(document.querySelector('h1')).color") == "rgb(0, 0, 0)"


@pytest.mark.parametrize("name", ADDRESSES)
def test_both_languages_without_a_word_missing_and_axe_finds_nothing(sheet: Page, rig: Holdwater, name: str) -> None:
    opened(sheet, rig, name)
    for language in ("Español", "English"):
        sheet.get_by_role("button", name=language).click()
        assert "[books" not in sheet.inner_text("main")
    for theme in ("sun", "night"):
        sheet.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
        assert found(sheet) == []
    for wide, high in ((1280, 800), (800, 1280), (390, 844)):
        sheet.set_viewport_size({"width": wide, "height": high})
        assert sheet.evaluate("document.documentElement.scrollWidth") <= wide, name
        assert sheet.evaluate(SMALL) == []


def test_tables_are_given_out(sheet: Page, rig: Holdwater, tmp_path: Path) -> None:
    opened(sheet, rig, "month")
    with sheet.expect_download() as given:
        sheet.get_by_role("link", name="Days as CSV").click()
    given.value.save_as(tmp_path / "days.csv")
    assert (tmp_path / "days.csv").read_text("utf-8").startswith("day,watched (h),water in (gal)")
