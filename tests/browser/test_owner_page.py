"""The owner's page in a real Chromium on a real daemon, in both languages and units, and a calibration."""

import json
import os
from collections.abc import Iterator

import pytest
from daemons import Holdwater, command, holdwater
from playwright.sync_api import Browser, Page, expect
from test_page_access import found
from waiting import until

from monitor.pages.words import words

pytestmark = pytest.mark.browser

SMALL = """() => [...document.querySelectorAll("button, a.button, input")].filter((n) => {
  const box = n.getBoundingClientRect();
  return box.width < 47.5 || box.height < 47.5;
}).map((n) => n.outerHTML)"""
WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("owner-page")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "demo", "--speed", "40", "--listen", "127.0.0.1:0", env=env) as running:
        until(running.volume_l)
        yield running


@pytest.fixture(scope="module")
def owner(demo: Holdwater, chromium: Browser) -> Iterator[Page]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.complaints = []  # type: ignore[attr-defined]
    page.on("pageerror", lambda error: page.complaints.append(str(error)))  # type: ignore[attr-defined]
    page.goto(f"{demo.url}/owner")
    expect(page.locator(".signals tbody tr").first).to_be_attached()
    yield page
    page.context.close()


def card(owner: Page, title: str):
    return owner.locator(".card", has=owner.get_by_role("heading", name=title, exact=True))


def test_every_signal_and_node_is_shown_with_its_verdict(owner: Page, demo: Holdwater) -> None:
    said = demo.http.get("/api/owner").json()
    expect(owner.locator(".signals tbody tr")).to_have_count(len(said["signals"]))
    expect(owner.locator(".nodes tbody tr")).to_have_count(len(said["nodes"]))
    expect(owner.locator(".signals tbody")).to_contain_text("tank/level")
    expect(owner.locator(".checklist li.done").first).to_be_visible()
    expect(owner.locator(".checklist li.open").first).to_be_visible()
    assert owner.complaints == []  # type: ignore[attr-defined]


def test_the_computer_is_shown_and_what_it_does_not_tell_is_not_nought(owner: Page, demo: Holdwater) -> None:
    said = demo.http.get("/api/owner").json()["computer"]
    expect(owner.locator(".computer tbody tr")).to_have_count(len(said))
    for name, shown in (("disk_free_mb", "Free on the disk"), ("cpu_cel", "Processor's temperature")):
        row = owner.locator(".computer tbody tr", has_text=shown)
        expect(row).to_contain_text("not told") if said[name] is None else expect(row).not_to_contain_text("not told")
    assert demo.http.get("/healthz").json()["parts"]["computer"]["ok"]


def test_what_was_let_go_and_what_of_the_program_failed_is_shown(owner: Page, demo: Holdwater) -> None:
    expect(owner.locator(".rejects")).to_contain_text("0 arrivals were let go")
    expect(owner.locator(".faults")).to_be_hidden()
    ill = demo.state() | {"dropped": 1234, "faults": ["alarms, supply"]}
    owner.route("**/api/state", lambda route: route.fulfill(json=ill))
    expect(owner.locator(".rejects")).to_contain_text("1234 arrivals were let go")
    expect(owner.locator(".faults")).to_contain_text("A fault of the program: alarms, supply.")
    assert found(owner) == []
    owner.unroute("**/api/state")
    expect(owner.locator(".faults")).to_be_hidden()


def test_a_bucket_test_runs_from_the_page(owner: Page, demo: Holdwater) -> None:
    bucket = card(owner, "Bucket test")
    bucket.get_by_role("button", name="Begin").click()
    field = bucket.get_by_label("The bucket holds (gal)")
    field.fill("5")
    expect(owner.locator(".runs")).to_contain_text("Bucket test is running")
    until(lambda: demo.http.get("/api/owner").json()["calibration"]["run"]["seconds"] > 3)
    expect(field).to_have_value("5")
    bucket.get_by_role("button", name="End").click()
    expect(bucket.get_by_role("status")).to_be_visible()
    result = demo.http.get("/api/owner").json()["calibration"]["result"]
    if "refused" in result:
        expect(bucket).to_contain_text("Refused:")
    else:
        bucket.get_by_role("button", name="Forget it").click()


def test_a_step_out_of_turn_is_said(owner: Page) -> None:
    level = card(owner, "Two-point level · tank/level")
    level.get_by_role("button", name="It stands there now").click()
    expect(owner.locator(".refusal")).to_contain_text("can't be taken now")


@pytest.mark.parametrize("size", [(1280, 800), (800, 1280), (390, 844)])
@pytest.mark.parametrize("theme", ["sun", "night"])
def test_it_is_accessible_nothing_is_cut_off_and_every_target_is_large(owner: Page, size, theme) -> None:
    owner.set_viewport_size({"width": size[0], "height": size[1]})
    owner.evaluate("(name) => { document.documentElement.dataset.theme = name; }", theme)
    assert found(owner) == []
    assert owner.evaluate(SMALL) == []
    assert owner.evaluate(WIDE) <= 0


def test_the_other_language_and_the_other_units(owner: Page) -> None:
    owner.get_by_role("button", name="Español").click()
    expect(owner.locator(".signals h2")).to_have_text("Señales")
    owner.get_by_role("button", name="Unidades métricas").click()
    expect(owner.locator(".now")).to_contain_text(" L")
    expect(owner.locator(".gains")).to_contain_text("L sobre el volumen muerto")
    assert "[owner." not in owner.locator("main").inner_text()
    owner.get_by_role("button", name="English").click()
    expect(owner.locator(".signals h2")).to_have_text("Signals")
    expect(owner.locator(".gains")).to_contain_text("L above the heel")


def test_both_languages_have_every_word() -> None:
    english, spanish = words("en"), words("es")
    assert {key for key in english if key.startswith("owner.")} == {key for key in spanish if key.startswith("owner.")}


def test_the_same_in_a_terminal(demo: Holdwater) -> None:
    said = command("watch", demo.url, "--once")
    assert said.returncode == 0, said.stderr
    for words_of_it in ("SIGNAL", "tank/level", "NODE", "To do:"):
        assert words_of_it in said.stdout
    refused = command("calibrate", demo.url, "draw", "begin", "--of", "Nobody")
    assert refused.returncode == 1
    assert "no-such-thing" in refused.stderr
    assert command("calibrate", demo.url, "draw", "begin", "--of", "Stalls").returncode == 0
    assert "running: draw of Stalls" in command("calibrate", demo.url).stdout
    assert "refused: draw of Stalls" in command("calibrate", demo.url, "draw", "end").stdout
    assert json.loads(demo.http.get("/api/owner").text)["calibration"]["result"]["refused"]


def test_no_daemon_is_said_plainly() -> None:
    said = command("watch", "http://127.0.0.1:9", "--once")
    assert said.returncode == 1
    assert "No daemon answers" in said.stderr


SEASON = """async () => {
  const { upkeep } = await import("/static/owner/upkeep.js");
  const rates = [22, 22.1, 21.9, 22, 16.1, 16, 15.9, 16.2];
  const days = rates.map((rate, n) => [86400 * n, rate]);
  const season = [
    { pump: "Rides", days, verdict: "fell at once", change: -0.27, look_at: ["strainer", "belt"],
      pressure_days: 8, pressure_change: -0.3, nozzle_worn: false },
    { pump: "Stalls", days: [], verdict: "too few", change: 0, look_at: [], pressure_days: 0, pressure_change: null },
    { pump: "Stands", days: [], verdict: "steady", change: 0, look_at: [],
      pressure_days: 9, pressure_change: -0.12, nozzle_worn: true },
  ];
  const tonight = ["drain_tank_and_lines", "engine_off_if_inside"];
  const freeze = { word: "freezes", coldest_c: -3.2, air_c: 4, tonight };
  const node = document.createElement("section");
  node.append(...upkeep({ hours: [], season, upkeep: { services: [], freeze } }, () => {}).filter(Boolean));
  return [node.innerText || node.textContent, node.querySelectorAll("svg.season polyline").length];
}"""


def test_a_pumps_season_has_its_verdict_and_a_cold_night_says_what_to_do(owner: Page) -> None:
    said, pictures = owner.evaluate(SEASON)
    said = said.replace("\u00a0", " ")  # a figure and its unit stay on one line
    assert "Rides: its draw FELL AT ONCE, −27 %." in said
    assert "Look at: a clogged strainer or a slipping belt." in said
    assert "Its pressure: −30 % over 8 days." in said
    assert "Stalls: 0 days" in said
    assert "went by −12 % over 9 days while it takes what it took: look for a worn nozzle" in said
    assert "lowest air was -3 °C (26 °F). Tonight:" in said
    assert "carbon monoxide kills" in said
    assert pictures == 1
    expect(owner.locator(".seasons li")).to_have_count(3)
