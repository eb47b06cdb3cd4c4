"""The day, and the last hour running on into the fan: a chart where the library was brought along, else plain."""

import pytest
from conftest import Held
from playwright.sync_api import Page, expect
from stub_server import DASHBOARDS, Stub, load

pytestmark = pytest.mark.browser

CHART = DASHBOARDS / "chart" / "uplot.js"
SPAN = "() => held.day.chart.span.map(Math.round)"
DATA = """(state) => import("/static/crew/day.js").then(({ dayData }) => dayData(state.past.points, state))"""


def opened(held: Held, state: str = "falling") -> Page:
    held.show(state)
    held.page.locator(".picture").click()
    expect(held.page.locator(".day-read")).not_to_be_empty()
    return held.page


def test_a_touch_on_the_picture_shows_the_day(tablet: Held) -> None:
    """With the chart where it was brought along; plain, and saying so, where npm reached nothing at set-up."""
    page = opened(tablet)
    expect(page.locator(".sheet-title")).to_have_text("The day")
    if CHART.is_file():
        expect(page.locator(".day .uplot canvas")).to_be_visible()
        expect(page.locator(".day")).not_to_contain_text("not installed")
    else:
        expect(page.locator(".day .water-line")).to_be_visible()
        expect(page.locator(".day")).to_contain_text("not installed")
    page.get_by_role("button", name="Close").click()
    assert page.evaluate("() => document.querySelectorAll('.uplot').length") == 0


def test_without_the_chart_the_day_is_drawn_plain(page: Page, stub: Stub) -> None:
    page.route("**/static/chart/*", lambda route: route.fulfill(status=404))
    page.goto(stub.url)
    page.locator(".picture").click()
    expect(page.locator(".day .water-line")).to_be_visible()
    expect(page.locator(".day .fan")).to_be_visible()
    expect(page.locator(".day")).to_contain_text("not installed here")


# a stand-in that takes what the chart is given, for set-ups without it
STAND_IN = """window.uPlot = class { constructor(options, data, box) {
  Object.assign(this, { options, data, over: document.createElement("div") });
  Object.defineProperty(this.over, "clientWidth", { value: 1000 });
  this.over.className = "u-over"; this.over.style.height = "200px"; box.append(this.over); }
  setSize() {} setData(data) { this.data = data; } destroy() { this.over.remove(); }
  static tzDate(date) { return date; } };"""


def test_the_chart_begins_with_the_hour_and_its_fan_and_moves_to_the_day(page: Page, stub: Stub) -> None:
    page.route("**/static/chart/uplot.css", lambda route: route.fulfill(body="", content_type="text/css"))
    page.route("**/static/chart/uplot.js", lambda route: route.fulfill(body=STAND_IN, content_type="text/javascript"))
    opened(Held(page, stub.url))
    wall = load("falling")["wall"]
    expect(page.get_by_role("button", name="Earlier")).to_be_visible()
    assert page.evaluate(SPAN) == [wall - 3600, wall + 3600]
    page.get_by_role("button", name="Nearer").click()
    assert page.evaluate(SPAN) == [wall - 1800, wall + 1800]
    page.get_by_role("button", name="Earlier").click()
    assert page.evaluate(SPAN) == [wall - 2700, wall + 900]
    for _ in range(3):
        page.get_by_role("button", name="Wider").click()
    assert page.evaluate(SPAN) == [wall - 3600, wall + 3600], "no further than there is water to show"


@pytest.mark.parametrize("name", ["falling", "over-an-hour", "holding", "filling", "forty-minutes"])
def test_the_fan_begins_at_the_water_and_ends_as_the_forecast_says(tablet: Held, name: str) -> None:
    tablet.show(name)
    state = load(name)
    data = tablet.page.evaluate(DATA, state)
    now = data["wall_s"].index(state["wall"], len(state["past"]["points"]))
    gallons = state["forecast"]["volume_l"] / 3.785411784
    assert data["past"][len(state["past"]["points"]) - 1] == pytest.approx(gallons, abs=0.01)
    assert data["middle"][now] == pytest.approx(gallons, abs=0.01)
    assert data["low"][now] < gallons < data["high"][now]
    dry, heel = state["forecast"]["dry_s"], state["rig"]["heel_l"] / 3.785411784
    for column, quantile in (("low", "p05"), ("middle", "p50"), ("high", "p95")):
        course = [(at, v) for at, v in zip(data["wall_s"], data[column], strict=True) if v is not None]
        lands = next((at for at, v in course if v <= heel + 1e-6), None)
        if dry and dry[quantile] is not None:
            assert lands == pytest.approx(state["wall"] + dry[quantile], abs=60)


def test_where_nothing_is_known_there_is_no_day(tablet: Held) -> None:
    page = opened(tablet, "no-data")
    expect(page.locator(".day-read")).to_have_text("no readings yet")
    page.get_by_role("button", name="Close").click()


def test_an_open_day_goes_on(tablet: Held) -> None:
    page = opened(tablet)
    state = load("falling")
    before = page.evaluate("() => held.day.points.length")
    later = {**state, "at": state["at"] + 30, "wall": state["wall"] + 30}
    page.evaluate("(state) => held.hear(state)", later)
    assert page.evaluate("() => held.day.points.length") == before + 1
    page.get_by_role("button", name="Close").click()
    page.evaluate("(state) => held.hear(state)", later)
    assert page.evaluate("() => held.day.node") is None
