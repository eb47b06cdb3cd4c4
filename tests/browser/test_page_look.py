"""The example states in both themes, both languages, at three sizes: measured for what must hold.

`make pictures` gives them to be looked at. Letter and target sizes are those of a ten-inch tablet of 1280 x 800, 149
pixels an inch.
"""

import re
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from conftest import NAMES, PX_PER_MM, SIZES, Held
from stub_server import load

pytestmark = pytest.mark.browser

FAR_MM, DIGITS_MM, TARGET_PX = 15.0, 25.0, 110
SHEETS = {
    "act.rinsing": "falling", "act.soaping": "long-names", "act.quiet": "level-uncertain", "act.packing": "packing-up",
    "act.new_place": "falling", "act.permit": "permit-stopped", "act.more": "parts-broken",
}  # fmt: skip

# What is seen, as plain data: the height of a capital in each text, boxes, overflow, and all the words.
MEASURE = """() => {
  const pen = document.createElement("canvas").getContext("2d");
  const shown = (node) => node.checkVisibility && node.checkVisibility() && node.getClientRects().length > 0;
  const box = (node) => { const r = node.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; };
  const capital = (node, letter) => {
    const style = getComputedStyle(node);
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    return pen.measureText(letter).actualBoundingBoxAscent;
  };
  const all = (selector) => [...document.querySelectorAll(selector)].filter(shown);
  const texts = (selector, letter) =>
    all(selector).filter((n) => n.textContent).map((n) => [n.className, n.textContent, capital(n, letter)]);
  // figures whose unit stands on the next line
  const torn = (node) => {
    const found = [];
    const walk = document.createTreeWalker(node, NodeFilter.SHOW_TEXT);
    for (let text = walk.nextNode(); text; text = walk.nextNode()) {
      for (const match of text.data.matchAll(/\\d\\s(gal|gpm|L|L\\/min|min|h|s|%)(?![\\p{L}\\d])/gu)) {
        const range = document.createRange();
        range.setStart(text, match.index);
        range.setEnd(text, match.index + match[0].length);
        if (new Set([...range.getClientRects()].map((r) => Math.round(r.top / 4))).size > 1) found.push(match[0]);
      }
    }
    return found;
  };
  const over = (node) => node.scrollWidth - node.clientWidth;
  const far = ".head-early, .head-trend, .head-volume, .head-main .far, .two, .word, .alarm-who[data-long='false']";
  const tight = ".head-early, .head-trend, .head-volume, .head-main > span, .alarm-title, .advice, .job, .pump-does";
  return {
    size: [innerWidth, innerHeight],
    scroll: [document.scrollingElement.scrollWidth, document.scrollingElement.scrollHeight],
    rows: all(".page > *").filter((n) => getComputedStyle(n).position !== "absolute").map((n) => [n.className, box(n)]),
    torn: all(".advice, .alarm-do span, .pump-sum, .pump-does, .soap").map(torn).flat(),
    inked: all(".picture-canvas text").map((n) => [n.textContent, box(n)]),
    picture: all(".picture-canvas").map(box),
    top: all(".top-age, .top-feed, .top-trouble")
      .map((n) => [n.className, n.textContent, box(n), n.scrollWidth - n.clientWidth]),
    digits: texts(".digits", "0"),
    far: texts(far, "H"),
    half: texts(".alarm-who[data-long='true']", "H"),
    who: all(".alarm-who").map((n) => [over(n), n.textContent]),
    title: texts(".alarm-title", "H"),
    tight: all(tight).map((n) => [n.className, n.textContent, box(n), n.scrollWidth - n.clientWidth]),
    jobs: all(".page .job").map((n) => [n.textContent, box(n)]),
    squeezed: all(".pump").filter((n) => n.scrollHeight > n.clientHeight + 3).map((n) => n.textContent),
    tank: all(".tank-wall").map(box),
    loud: document.querySelector(".alarm")?.dataset.loud,
    steps: all(".alarm-do").map((n) => [n.scrollHeight - n.clientHeight, n.textContent]),
    words: document.body.innerText,
  };
}"""


Measured = Callable[[str, str, str, str], dict[str, Any]]


@pytest.fixture(scope="session")
def measured(held_pages: dict[str, Held]) -> Measured:
    """An example state at a size, in a language and a theme: measured once for all tests that ask."""

    @cache
    def measure(size: str, name: str, language: str, theme: str) -> dict[str, Any]:
        held = held_pages[size]
        held.show(name, language, theme)
        return held.page.evaluate(MEASURE)

    return measure


# A theme moves nothing, so each language is seen whole in one and sampled in the other.
THEMES = {"en": "sun", "es": "night"}


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("language", "theme", "every"), [("en", "sun", 1), ("es", "night", 1), ("en", "night", 4), ("es", "sun", 4)]
)
def test_every_state_is_whole(
    measured: Measured, held_pages: dict[str, Held], size: str, language: str, theme: str, every: int
) -> None:
    faults = []
    for name in NAMES[::every]:
        faults += [f"{name}: {fault}" for fault in cramped(measured(size, name, language, theme))]
    assert held_pages[size].errors == []
    assert faults == []


def cramped(seen: dict[str, Any], least_tank_px: float = 44) -> list[str]:
    """What is cut off, covered, overflows, is split from its unit, or isn't in words."""
    width, height = seen["size"]
    faults = [f"scrolls: {seen['scroll']}"] if seen["scroll"] != [width, height] else []
    rows = seen["rows"]
    for (name, above), (_, below) in pairwise(rows):
        if below[1] < above[3] - 1:
            faults.append(f"{name} reaches into what follows by {above[3] - below[1]:.0f} px")
    if rows and rows[-1][1][3] > height + 1:
        faults.append("the buttons are cut off")
    for name, text, (left, top, right, bottom), over in seen["tight"]:
        if left < -1 or right > width + 2 or top < -1 or bottom > height + 1 or over > 1:
            faults.append(f"{name} doesn't fit: {text}")
    faults += [f"a step is cut: {text}" for over, text in seen["steps"] if over > 3]
    faults += [f"a pump's name is cut: {text}" for over, text in seen["who"] if over > 1]
    faults += [f"a pump's row is squeezed: {text}" for text in seen["squeezed"]]
    faults += [f"target too small: {text}" for text, box in seen["jobs"] if _least(box) < TARGET_PX - 0.5]
    faults += [f"the tank is only {_least(box):.0f} px" for box in seen["tank"] if _least(box) < least_tank_px]
    faults += [f"figure and unit are torn apart: {text}" for text in seen["torn"]]
    faults += [f"{name} is cut: {text}" for name, text, box, over in seen["top"] if over > 1 or box[2] > width + 1]
    faults += [f"outside the picture: {text}" for text, box in seen["inked"] if not _holds(seen["picture"][0], box)]
    faults += re.findall(r"\[[a-z]+\.[a-z_]+\]|undefined|NaN|null|\[object|\{\w+\}", seen["words"])
    return faults


def _holds(outer: list[float], box: list[float]) -> bool:
    return outer[0] - 1 <= box[0] and box[2] <= outer[2] + 1 and outer[1] - 1 <= box[1] and box[3] <= outer[3] + 3


def _least(box: list[float]) -> float:
    left, top, right, bottom = box
    return min(right - left, bottom - top)


@pytest.mark.parametrize("size", ["tablet", "upright"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_what_is_read_from_three_metres_is_tall_enough(measured: Measured, size: str, language: str) -> None:
    """Time to dry, early bound, trend, volume and the headline of a new or critical alarm; main digits larger yet. A
    pump's name of more than 20 letters is set half as tall, and whole."""
    small = []
    for name in NAMES:
        seen = measured(size, name, language, THEMES[language])
        small += [(name, *said) for said in seen["digits"] if said[2] / PX_PER_MM < DIGITS_MM]
        loud = seen["title"] if seen["loud"] == "true" else []
        small += [(name, *said) for said in seen["half"] if said[2] / PX_PER_MM < FAR_MM / 2]
        small += [(name, *said) for said in seen["far"] + loud if said[2] / PX_PER_MM < FAR_MM]
    assert small == []


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("language", ["en", "es"])
def test_what_saves_the_pump_is_on_the_page_itself(held_pages: dict[str, Held], size: str, language: str) -> None:
    """Let go, stop, squeeze: an engine that idles still turns its pump."""
    held_pages[size].show("dry-soon", language)
    steps = held_pages[size].page.locator(".alarm-do span:visible").all_text_contents()
    assert len(steps) >= 3


def test_the_time_is_the_largest_thing(measured: Measured) -> None:
    for name in NAMES:
        seen = measured("tablet", name, "en", "sun")
        main = max((tall for _, _, tall in seen["digits"]), default=0)
        if main:
            assert all(tall < main for _, _, tall in seen["far"] + seen["title"]), name


def test_letters_are_as_tall_on_the_glass_as_the_sheet_says(tablet: Held) -> None:
    """The height of the ink itself, counted in a picture of the page, not in what the browser says of its font."""
    tablet.show("falling")
    rows = tablet.page.evaluate(INK_ROWS)
    assert rows / PX_PER_MM >= DIGITS_MM


# draws the same text with the same font on a canvas and counts the rows that hold ink
INK_ROWS = """() => {
  const node = document.querySelector(".digits");
  const style = getComputedStyle(node);
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [600, 400];
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  pen.fillText(node.textContent, 20, 300);
  const { data } = pen.getImageData(0, 0, 600, 400);
  const inked = (y) => data.slice(y * 2400, (y + 1) * 2400).some((value, i) => i % 4 === 3 && value > 128);
  return Array.from({ length: 400 }, (_, y) => inked(y)).filter(Boolean).length;
}"""


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_state_in_both_unit_systems(tablet: Held, units: str) -> None:
    other = {"us": ("L/min", " L"), "metric": ("gpm", " gal")}[units]
    for name in NAMES:
        state = load(name)
        state["rig"]["units"] = units
        tablet.show(state)
        seen = tablet.page.evaluate(MEASURE)
        assert cramped(seen) == [], name
        shown = " ".join([seen["words"], *tablet.page.locator(".picture-canvas text").all_text_contents()])
        assert not [unit for unit in other if re.search(rf"\d{unit}\b", shown)], name


@pytest.mark.parametrize("size", SIZES)
def test_pumps_that_cannot_be_told_apart_find_room_beside_an_alarm(held_pages: dict[str, Held], size: str) -> None:
    """The sum of their draws takes a line more."""
    held, blurred = held_pages[size], load("unsplit")
    for name in ("dry-soon", "over-now", "many-alarms"):
        state = load(name)
        state["pumps"] = blurred["pumps"]
        state["forecast"]["draw_sum_l_min"] = blurred["forecast"]["draw_sum_l_min"]
        held.show(state, "es")
        assert held.page.locator(".pump-sum").is_visible()
        assert cramped(held.page.evaluate(MEASURE), 40) == [], name


def test_long_names_are_cut_in_their_row_not_across_the_page(tablet: Held) -> None:
    state = load("pump-starved")
    name = "W" * 60
    state["pumps"][0]["name"] = state["alarms"][0]["pump"] = name
    state["forecast"]["draw_l_min"] = {name: 22.7, "Stalls": 0.0, "Stands": 0.0}
    tablet.show(state)
    assert cramped(tablet.page.evaluate(MEASURE)) == []


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("language", ["en", "es"])
def test_what_is_touched_in_the_sheets_is_large_enough(held_pages: dict[str, Held], size: str, language: str) -> None:
    """Gloves and wet fingers: 110 px, and no sheet scrolls sideways."""
    held, small = held_pages[size], []
    sides = "() => [...document.querySelectorAll('.sheet .job:not(.sheet-close), .sheet .ask')].map((node) => {"
    sides += " const box = node.getBoundingClientRect(); return [node.textContent, Math.min(box.width, box.height)]; })"
    over = "() => { const body = document.querySelector('.sheet-body'); return body.scrollWidth - body.clientWidth; }"
    for key, state in SHEETS.items():
        held.show(state, language)
        held.page.evaluate("(key) => held.runs()[key]()", key)
        seen = held.page.evaluate(sides)
        assert seen, key
        small += [(key, text, side) for text, side in seen if side < TARGET_PX - 0.5]
        small += [(key, "scrolls sideways", over_px) for over_px in [held.page.evaluate(over)] if over_px > 1]
        held.page.evaluate("() => held.sheet.close()")
    assert small == []
