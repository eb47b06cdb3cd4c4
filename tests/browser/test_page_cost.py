"""What the page costs: bytes, first paint, and memory that stays where it is."""

import json
import re

import pytest
from conftest import NAMES, Held
from playwright.sync_api import Page, expect
from stub_server import DASHBOARDS, Stub, load

pytestmark = pytest.mark.browser

MOST_BYTES = 250_000
RENDERS = 9600  # a push a second for a third of a day
MORE_HEAP_BYTES = 700_000  # 73 for each push: 2 MB a day


def test_all_that_the_page_loads_is_small(page: Page, stub: Stub) -> None:
    page.goto(stub.url)
    expect(page.locator(".digits")).to_have_text("15")
    manifest = json.loads((DASHBOARDS / "crew" / "manifest.webmanifest").read_text(encoding="utf-8"))
    icons = sum((DASHBOARDS / icon["src"].removeprefix("/static/")).stat().st_size for icon in manifest["icons"])
    assert len(stub.served) > 20
    assert sum(stub.served.values()) + icons < MOST_BYTES


def test_the_page_names_all_its_scripts_so_that_they_come_at_once() -> None:
    """One after the other, each asked for by the one before, they would delay the first paint."""
    page = (DASHBOARDS / "crew" / "index.html").read_text(encoding="utf-8")
    scripts = {f"/static/{part}/{f.name}" for part in ("crew", "shared") for f in (DASHBOARDS / part).glob("*.js")}
    scripts.add("/static/practice/strip.js")
    scripts -= {"/static/shared/corner.js", "/static/shared/asked.js"}  # which other pages have
    assert set(re.findall(r'"(/static/[a-z]+/\w+\.js)"', page)) == scripts


def test_all_that_is_the_crew_pages_is_small() -> None:
    """In both languages and with the gallery; the words of other pages are theirs."""
    own = [file for part in ("crew", "shared", "gallery") for file in (DASHBOARDS / part).rglob("*")]
    own += [DASHBOARDS / "words" / f"{language}.json" for language in ("en", "es")]
    assert sum(file.stat().st_size for file in own if file.is_file()) < MOST_BYTES


@pytest.mark.campaign
def test_memory_stays_flat(tablet: Held) -> None:
    """The same page shows state after state; what it holds in the end is what it held before."""
    grown_heap, grown_nodes = growth(tablet, RENDERS)
    assert grown_heap < MORE_HEAP_BYTES
    assert grown_nodes <= 200


def growth(tablet: Held, renders: int) -> tuple[float, float]:
    """Bytes of heap and document nodes more after so many states than before."""
    states = [load(name) for name in NAMES]
    tablet.show("falling")
    devtools = tablet.page.context.new_cdp_session(tablet.page)
    run = """async ([states, times]) => {
      for (let i = 0; i < times; i += 1) {
        const state = states[Math.floor(i / 20) % states.length];
        state.at = 1795600000 + i;
        if (state.forecast.volume_l !== null) state.forecast.volume_l += i % 20 === 0 ? 1.9 : -0.1;
        held.hear(state);
        if (i % 25 === 0) await new Promise(requestAnimationFrame);
      }
    }"""

    def held() -> tuple[float, float]:
        devtools.send("HeapProfiler.collectGarbage")
        counts = {m["name"]: m["value"] for m in devtools.send("Performance.getMetrics")["metrics"]}
        return counts["JSHeapUsedSize"], counts["Nodes"]

    devtools.send("Performance.enable")
    tablet.page.evaluate(run, [states, 800])  # each state at least once: what is compiled and kept comes but once
    heap_before, nodes_before = held()
    tablet.page.evaluate(run, [states, renders])
    heap_after, nodes_after = held()
    return heap_after - heap_before, nodes_after - nodes_before
