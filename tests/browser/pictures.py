"""Pictures of every example state and every sheet: both themes, both languages, three sizes.

    python tests/browser/pictures.py FOLDER [NAME …]      only the states named; sheets are named by their button's key
"""

import sys
from itertools import product
from pathlib import Path

from conftest import FLAGS, NAMES, SIZES, Held
from playwright.sync_api import sync_playwright
from stub_server import Stub

SHEETS = {
    "act.packing": "falling", "act.new_place": "falling", "act.more": "falling", "act.rinsing": "falling",
    "act.quiet": "level-uncertain", "picture": "falling", "alarms": "many-alarms", "why": "falling",
}  # fmt: skip
OPEN = {
    "picture": "() => document.querySelector('.picture').click()",
    "alarms": "() => document.querySelector('.alarm-open').click()",
    "why": "() => held.explain.start()",
}


def open_sheet(held: Held, sheet: str) -> None:
    held.page.evaluate(OPEN.get(sheet, f"() => held.runs()['{sheet}']()"))
    held.page.evaluate("() => new Promise((done) => setTimeout(done, 600))")  # a chart draws itself


def take(folder: Path, names: list[str]) -> int:
    folder.mkdir(parents=True, exist_ok=True)
    stub, taken = Stub(), 0
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        for size, (width, height) in SIZES.items():
            page = browser.new_page(viewport={"width": width, "height": height})
            held = Held(page, stub.url)
            for name, theme, language in product(names, ("sun", "night"), ("en", "es")):
                page.evaluate("() => held.explain.stop()")
                held.show(SHEETS.get(name, name), language, theme)
                if name in SHEETS:
                    open_sheet(held, name)
                page.screenshot(path=folder / f"{name}-{size}-{theme}-{language}.png")
                taken += 1
                if held.errors:
                    print(name, size, theme, language, *held.errors, sep="\n  ")
                    held.errors.clear()
        browser.close()
    stub.close()
    return taken


if __name__ == "__main__":
    print(take(Path(sys.argv[1]), sys.argv[2:] or [*NAMES, *SHEETS]), "pictures in", sys.argv[1])
