"""One Chromium for all browser tests, a stand-in for the monitor, and a crew page that shows any state at once."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright
from stub_server import DASHBOARDS, Stub, load

# For each window Chromium draws the lists under its address line, unseen, in a process of their own that costs more
# than the page. Of such flags the last one holds, so what Playwright switches off for steady pictures is named again.
UNSEEN = "WebUIOmniboxPopup,WebUIOmniboxAimPopup,PaintHolding,HttpsUpgrades,MediaRouter,OptimizationHints"
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--autoplay-policy=user-gesture-required",
    f"--disable-features={UNSEEN}",
]  # fmt: skip
SIZES = {"tablet": (1280, 800), "upright": (800, 1280), "phone": (390, 844)}
PX_PER_MM = 149 / 25.4  # a ten-inch tablet of 1280 x 800
NAMES = json.loads((DASHBOARDS / "states" / "index.json").read_text(encoding="utf-8"))

# The real crew page with its three doors held by the test: show(state, language) puts a state through it.
HELD = """async () => {
  const { CrewPage } = await import("/static/crew/crew.js");
  const { setTheme } = await import("/static/shared/theme.js");
  let hear, past;
  window.told = [];
  const live = { start() {}, sinceHeard_s: () => 0.4, everHeard: () => true, silent: () => false };
  const act = async (body) => { window.told.push(body); return new Response(null, { status: 204 }); };
  const doors = { live: (onState) => { hear = onState; return live; }, past: async () => past, act };
  const page = new CrewPage(document.getElementById("page"), doors);
  await page.start();
  window.held = page;
  window.setTheme = setTheme;
  window.show = async (state, language) => {
    past = state.past;
    page.sheet.close();
    Object.assign(page.past, { asked_at: null, points: [], last: undefined });
    page.picture.drawn_ms = -Infinity;
    hear(state);
    await page.useLanguage(language || "en");
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
    page.drawPicture(true);
    page.show();
  };
}"""


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        expect.set_options(timeout=20_000)  # a loaded machine is no fault of the page
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def shared_stub() -> Iterator[Stub]:
    stub = Stub()
    yield stub
    stub.close()


@pytest.fixture
def stub() -> Iterator[Stub]:
    """A monitor of the test's own, to be silenced and killed."""
    stub = Stub()
    yield stub
    stub.close()


class Held:
    """The crew page in a tab of its own."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.errors: list[str] = []
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("console", lambda said: self.errors.append(said.text) if said.type == "error" else None)
        page.goto(f"{url}/bare")
        page.evaluate(HELD)

    def show(self, state: str | dict[str, Any], language: str = "en", theme: str = "sun") -> None:
        self.page.bring_to_front()  # a tab behind another draws no frames
        self.page.evaluate("(name) => setTheme(name)", theme)
        self.page.evaluate(
            "([state, language]) => show(state, language)", [load(state) if isinstance(state, str) else state, language]
        )


@pytest.fixture(scope="session")
def held_pages(chromium: Browser, shared_stub: Stub) -> Iterator[dict[str, Held]]:
    """The crew page at each of the three sizes; kept open, for a page that shows one state after another is the use."""
    context = chromium.new_context()
    pages = {}
    for size, (width, height) in SIZES.items():
        page = context.new_page()
        page.set_viewport_size({"width": width, "height": height})
        pages[size] = Held(page, shared_stub.url)
    yield pages
    context.close()


@pytest.fixture
def tablet(held_pages: dict[str, Held]) -> Held:
    return held_pages["tablet"]


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """A fresh tab with nothing stored, for the page as it is served."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    # What is printed is told where a test fails.
    page.on("requestfailed", lambda request: print("request failed:", request.url, request.failure))
    page.on("console", lambda said: print("console:", said.text))
    yield page
    context.close()
