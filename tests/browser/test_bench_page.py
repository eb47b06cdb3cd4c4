"""The bench in a real Chromium on a real demo: a click puts a hand into the world; truth follows, belief follows it."""

import json
import os
import re
from collections.abc import Iterator

import pytest
from daemons import Holdwater, holdwater
from playwright.sync_api import Browser, Page, expect
from stub_server import DASHBOARDS
from test_page_access import found
from test_page_words import places
from waiting import until

from simulated_feeds.faults import FAULTS

pytestmark = pytest.mark.browser

SIZES = {"tablet": (1280, 800), "upright": (800, 1280), "phone": (390, 844)}
SMALL = """() => [...document.querySelectorAll("button, select")].filter((n) => {
  const box = n.getBoundingClientRect();
  return box.width < 47.5 || box.height < 47.5;
}).map((n) => n.textContent)"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("bench-page")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "demo", "--speed", "40", "--seed", "5", "--listen", "127.0.0.1:0", env=env) as running:
        until(running.volume_l)
        yield running


@pytest.fixture(scope="module")
def bench(demo: Holdwater, chromium: Browser) -> Iterator[Page]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.complaints = []  # type: ignore[attr-defined]
    page.on("pageerror", lambda error: page.complaints.append(str(error)))  # type: ignore[attr-defined]
    page.on("console", lambda said: page.complaints.append(said.text) if said.type == "error" else None)  # type: ignore[attr-defined]
    page.goto(f"{demo.url}/bench")
    expect(page.locator(".line.believed").first).to_be_attached()
    yield page
    page.context.close()


def now(demo: Holdwater) -> dict:
    return demo.http.get("/api/bench").json()["now"]


def test_it_shows_both_on_one_axis_and_how_to_live_the_day_again(bench: Page) -> None:
    for name in ("true", "believed"):
        expect(bench.locator(f".line.{name}").first).to_be_attached()
    titles = bench.locator(".chart .name")
    expect(titles).to_have_text(["Volume", "Inflow", "Rides", "Stalls", "Stands", "Time to dry"])
    expect(bench.locator(".again code")).to_have_text("holdwater demo fairground --seed 5 --speed 40")
    expect(bench.locator(".top")).to_contain_text("seed 5")


def test_a_fault_by_a_click_changes_the_truth_and_another_lifts_it(demo: Holdwater, bench: Page) -> None:
    leak = bench.get_by_role("button", name="A fitting leaks")
    leak.click()
    expect(leak).to_have_attribute("aria-pressed", "true")
    until(lambda: now(demo)["truth"]["lost_l_min"] > 0.0, what="it leaks in truth")
    expect(bench.locator(".strip.fault").first).to_be_attached()
    leak.click()
    expect(leak).to_have_attribute("aria-pressed", "false")
    until(lambda: now(demo)["truth"]["lost_l_min"] == 0.0, what="and no more")
    bench.get_by_label("Where: A node has no power").select_option("stands")
    lost = bench.get_by_role("button", name="A node has no power")
    lost.click()
    demo.until_alarm("node-lost", 30.0)
    lost.click()
    expect(lost).to_have_attribute("aria-pressed", "false")


def test_the_tap_is_worked_by_hand_and_the_belief_follows(demo: Holdwater, bench: Page) -> None:
    tap = bench.get_by_role("group", name="Tap")
    until(lambda: (demo.state()["forecast"]["inflow_l_min"] or 0.0) > 5.0, 30.0, "water comes in")
    tap.get_by_role("button", name="Shut").click()
    expect(tap.get_by_role("button", name="Shut")).to_have_attribute("aria-pressed", "true")
    until(lambda: now(demo)["truth"]["inflow_l_min"] == 0.0, what="shut in truth")
    until(lambda: demo.state()["forecast"]["inflow_l_min"] == pytest.approx(0.0, abs=0.5), 30.0, "and believed shut")
    tap.get_by_role("button", name="Open").click()
    until(lambda: (demo.state()["forecast"]["inflow_l_min"] or 0.0) > 5.0, 30.0, "and open again")


def test_a_gun_is_taken_over_and_given_back(demo: Holdwater, bench: Page) -> None:
    gun = bench.get_by_role("group", name="Rides")
    trigger = gun.get_by_role("button", name="Trigger")
    pressed = trigger.get_attribute("aria-pressed")
    trigger.click()
    until(lambda: now(demo)["handles"]["by_hand"]["Rides"])
    expect(gun).to_contain_text("in your hand")
    expect(trigger).to_have_attribute("aria-pressed", "false" if pressed == "true" else "true")
    gun.get_by_role("button", name="Give back").click()
    expect(gun).to_contain_text("the crew has it")


def test_what_was_done_is_written_down_as_a_scenario_has_it(bench: Page) -> None:
    bench.get_by_text("With all that was done here").click()
    rows = bench.locator("pre")
    expect(rows).to_contain_text('[[fault]]\nwhat = "leak"')
    expect(rows).to_contain_text('[[by_hand]]\nwhat = "tap"')
    bench.get_by_text("With all that was done here").click()
    expect(rows).not_to_be_visible()


def test_the_speed_is_changed_live(demo: Holdwater, bench: Page) -> None:
    bench.get_by_role("button", name="20 ×").click()
    until(lambda: demo.state()["speed"] == 20.0)
    expect(bench.get_by_role("button", name="20 ×")).to_have_attribute("aria-pressed", "true")
    expect(bench.locator(".again code")).to_contain_text("--speed 20")


def test_units_languages_and_themes(bench: Page) -> None:
    expect(bench.locator(".chart .panel").first).to_contain_text("gal")
    bench.get_by_role("button", name="Metric").click()
    expect(bench.locator(".chart .panel").first).to_contain_text(re.compile(r"\d L"))
    bench.get_by_role("button", name="Español").click()
    expect(bench.locator(".faults h2")).to_have_text("Fallos")
    assert not re.search(r"\[bench\.", bench.locator("body").inner_text())
    bench.get_by_role("button", name="English").click()
    bench.get_by_role("button", name="US", exact=True).click()
    expect(bench.locator(".faults h2")).to_have_text("Faults")


@pytest.mark.parametrize("size", SIZES)
def test_it_fits_and_axe_finds_nothing(bench: Page, size: str) -> None:
    width, height = SIZES[size]
    bench.set_viewport_size({"width": width, "height": height})
    bench.get_by_role("button", name=re.compile("^(Night|Sunlight) colours$")).click()
    expect(bench.locator(".line.believed").first).to_be_attached()
    assert bench.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    assert bench.evaluate(SMALL) == []
    assert [fault for fault in found(bench) if not fault.startswith("color-contrast-enhanced")] == []


def test_nothing_was_complained_of(bench: Page) -> None:
    assert bench.complaints == []  # type: ignore[attr-defined]


def test_every_word_is_there_in_both_languages_and_every_fault_has_its_own() -> None:
    files = [DASHBOARDS / "words" / f"bench.{language}.json" for language in ("en", "es")]
    english, spanish = [json.loads(file.read_text("utf-8")) for file in files]
    assert list(english) == list(spanish)
    assert all(text.strip() and places(text) == places(spanish[key]) for key, text in english.items())
    assert {key.removeprefix("bench.fault.") for key in english if key.startswith("bench.fault.")} == set(FAULTS)
    scripts = "".join(file.read_text("utf-8") for file in (DASHBOARDS / "bench").glob("*.js"))
    used = set(re.findall(r'"(bench\.[a-z_]+)"', scripts)) | {f"bench.{name}" for name in ("true", "believed")}
    assert used <= set(english)
    made_up = ("bench.fault.", "bench.phase.", "bench.group.", "bench.units_")
    plain = {key for key in english if not key.startswith(made_up)}
    unused = {key for key in plain if f'"{key.removeprefix("bench.")}"' not in scripts and f'"{key}"' not in scripts}
    assert unused == set()
