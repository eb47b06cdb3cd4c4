"""The page in other shapes than the three it is drawn for: half a screen, a phone on its side, held upside down."""

import json

import pytest
from conftest import Held
from playwright.sync_api import Browser
from stub_server import DASHBOARDS, Stub
from test_page_look import MEASURE, cramped

pytestmark = pytest.mark.browser

SHAPES = {
    "half a tablet": (640, 800), "half a tablet upright": (800, 640), "a low strip": (1280, 400),
    "a narrow strip": (400, 1280), "a phone on its side": (844, 390), "a small tablet": (1024, 600),
}  # fmt: skip
STATES = ["falling", "holding", "six-pumps", "level-uncertain", "dry-soon", "bypass-hot", "many-alarms", "no-data"]
LEAST_TANK_PX = 24


@pytest.mark.parametrize("shape", SHAPES)
def test_nothing_is_cut_off(chromium: Browser, shared_stub: Stub, shape: str) -> None:
    width, height = SHAPES[shape]
    page = chromium.new_page(viewport={"width": width, "height": height})
    held, faults = Held(page, shared_stub.url), []
    for name in STATES:
        held.show(name, "es")
        faults += [f"{name}: {fault}" for fault in cramped(page.evaluate(MEASURE), LEAST_TANK_PX)]
    page.close()
    assert faults == []


@pytest.mark.parametrize(
    ("width", "height", "turned"), [(1280, 800, "landscapeSecondary"), (800, 1280, "portraitSecondary")]
)
def test_held_upside_down_it_is_the_same(
    chromium: Browser, shared_stub: Stub, width: int, height: int, turned: str
) -> None:
    """The device turns the picture, and the page holds it back nowhere: no orientation is locked or asked for."""
    page = chromium.new_page(viewport={"width": width, "height": height})
    held = Held(page, shared_stub.url)
    tools = page.context.new_cdp_session(page)
    angle = 180 if turned.startswith("landscape") else 270
    screen = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": True}
    tools.send("Emulation.setDeviceMetricsOverride", {**screen, "screenOrientation": {"type": turned, "angle": angle}})
    held.show("dry-soon")
    assert page.evaluate("screen.orientation.angle") == angle
    assert cramped(page.evaluate(MEASURE)) == []
    page.close()
    manifest = json.loads((DASHBOARDS / "crew" / "manifest.webmanifest").read_text(encoding="utf-8"))
    assert manifest["orientation"] == "any"


def test_what_the_glass_cuts_off_at_its_edges_is_left_free(tablet: Held) -> None:
    """A notch or a rounded corner, on whichever side it comes to lie."""
    tablet.show("falling")
    tools = tablet.page.context.new_cdp_session(tablet.page)
    insets = {"top": 30, "left": 44, "bottom": 21, "right": 44}
    tools.send("Emulation.setSafeAreaInsetsOverride", {"insets": insets})
    sides = """() => { const s = getComputedStyle(document.querySelector(".page"));
      return ["Top", "Left", "Bottom", "Right"].map((side) => parseFloat(s[`padding${side}`])); }"""
    assert tablet.page.evaluate(sides) == list(insets.values())
    tools.send("Emulation.setSafeAreaInsetsOverride", {"insets": {}})
    assert tablet.page.evaluate(sides)[1] == 20
