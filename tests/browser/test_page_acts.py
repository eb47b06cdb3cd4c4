"""What a person does on the page reaches the monitor, and what the monitor answers reaches the person."""

import json
from typing import Any

import pytest
from conftest import Held
from playwright.sync_api import Page, expect
from stub_server import DASHBOARDS, Stub, at, load

pytestmark = pytest.mark.browser


def told(stub: Stub) -> dict[str, Any]:
    """The next act that reaches the stub, without who did it."""
    with stub.changed:
        assert stub.changed.wait_for(lambda: stub.acts, timeout=10)
        act = stub.acts.pop(0)
    assert act.pop("by") == "crew page"
    return act


def test_got_it_acknowledges_the_alarm_shown(page: Page, stub: Stub) -> None:
    at(page, stub, "dry")
    page.get_by_role("button", name="Got it").click()
    assert told(stub) == {"act": "acknowledge", "alarm": "dry", "pump": "Rides"}
    expect(page.locator(".toast")).to_have_text("Noted: Got it")


def test_an_alarm_is_made_quiet_for_a_chosen_time(page: Page, stub: Stub) -> None:
    at(page, stub, "level-uncertain")
    page.get_by_role("button", name="Quiet for…").click()
    page.get_by_role("button", name="15 min", exact=True).click()
    quiet = {"act": "shelve", "alarm": "level-signal", "minutes": 15, "signal": "tank/level", "node": "tank"}
    assert told(stub) == quiet
    expect(page.locator(".sheet")).to_be_hidden()


def test_no_longer_than_the_alarm_allows(page: Page, stub: Stub) -> None:
    state = load("level-uncertain")
    state["alarms"][0]["shelve_max_s"] = 900.0
    stub.show(state)
    page.goto(stub.url)
    page.get_by_role("button", name="Quiet for…").click()
    assert page.locator(".sheet .jobs .job").all_inner_texts() == ["5\u00a0min", "15\u00a0min"]


def test_alarms_that_make_no_sound_can_be_looked_at(page: Page, stub: Stub) -> None:
    """With nothing that speaks there is no block to touch: then More leads to them."""
    state = load("falling")
    state["alarms"] = [load("many-alarms")["alarms"][2]]
    at(page, stub, state)
    expect(page.locator(".top-quiet")).to_have_text("1 quiet")
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="The alarm that stands").click()
    page.get_by_role("button", name="Let it speak again").click()
    assert told(stub) == {"act": "unshelve", "alarm": "leak"}


TOUCHED = """([x, y, times]) => {
  for (let i = 0; i < times; i += 1) {
    const on = document.elementFromPoint(x, y);
    on.dispatchEvent(new MouseEvent("click", { bubbles: true, cancelable: true, detail: 1, clientX: x, clientY: y }));
  }
}"""


@pytest.mark.parametrize("size", [{"width": 1280, "height": 800}, {"width": 390, "height": 844}])
def test_a_finger_that_bounces_presses_no_button_that_was_not_there(page: Page, stub: Stub, size: Any) -> None:
    page.set_viewport_size(size)
    page.clock.install(time="2026-11-25T10:00:00")
    at(page, stub, "falling")
    page.clock.pause_at(page.evaluate("Date.now() / 1000 + 1"))
    for act in ("act.more", "act.rinsing"):
        box = page.locator(f'[data-act="{act}"]').bounding_box()
        assert box is not None
        for part in (0.2, 0.5, 0.8):
            touch = [box["x"] + part * box["width"], box["y"] + part * box["height"], 4]
            page.evaluate(TOUCHED, touch)
            expect(page.locator(".sheet-title")).to_have_text("More" if act == "act.more" else "Which pump?")
            page.keyboard.press("Escape")
            page.clock.run_for(500)
    assert stub.acts == []


def test_two_touches_on_one_button_are_two(page: Page, stub: Stub) -> None:
    page.clock.install(time="2026-11-25T10:00:00")
    at(page, stub, "falling")
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="I looked: it stands here").click()
    box = page.get_by_role("button", name="higher").bounding_box()
    assert box is not None
    page.clock.run_for(500)
    page.evaluate(TOUCHED, [box["x"] + 40, box["y"] + 40, 2])
    expect(page.locator(".waterline-said")).to_have_text("120 gal")


@pytest.mark.parametrize("state", ["dry", "dry-soon", "pump-starved", "dry-soon-heard"])
def test_a_critical_alarm_is_never_made_quiet(page: Page, stub: Stub, state: str) -> None:
    at(page, stub, state)
    expect(page.get_by_role("button", name="Quiet for…")).to_have_count(0)


def test_a_quiet_alarm_can_be_let_speak_again(page: Page, stub: Stub) -> None:
    at(page, stub, "many-alarms")
    page.locator(".alarm-open").click()
    page.get_by_role("button", name="Let it speak again").click()
    assert told(stub) == {"act": "unshelve", "alarm": "leak"}


def line(mode: str, to_go_s: float | None, since: float, pump: str = "Rides") -> dict[str, Any]:
    """What the monitor tells of a pump's chemical line, as far as the crew page shows it."""
    return {"pump": pump, "mode": mode, "to_go_s": to_go_s, "since": since}


def test_rinsing_asks_which_pump_and_the_monitor_counts_down(page: Page, stub: Stub) -> None:
    at(page, stub, "falling")
    page.get_by_role("button", name="Full flow: rinsing").click()
    page.locator(".sheet").get_by_role("button", name="Rides").click()
    assert told(stub) == {"act": "rinsing", "pump": "Rides"}
    state = load("falling")
    stub.show({**state, "chemical": [line("clear", 8.6, state["at"])]})
    expect(page.locator(".soap")).to_contain_text("Rides: line clear in 9 s")


@pytest.mark.parametrize(("mode", "word"), [("clear", "line clear"), ("soap", "soap at the gun")])
def test_the_countdown_is_the_monitors_and_goes_when_it_was_seen(tablet: Held, mode: str, word: str) -> None:
    state = load("falling")
    shown, since = tablet.page.locator(".soap"), state["at"]

    def later(seconds: float, to_go_s: float | None, **pump: object) -> str:
        state["at"] += seconds
        pumps = [state["pumps"][0] | pump, *state["pumps"][1:]]
        tablet.show({**state, "pumps": pumps, "chemical": [line("", None, 0, "Stalls"), line(mode, to_go_s, since)]})
        return shown.inner_text().replace("\u00a0", " ")

    assert f"{word} in 9 s" in later(0, 8.6)
    assert f"{word} in 5 s" in later(4.3, 4.3)
    assert "5 s of spraying" in later(0, 4.3, state="bypass")
    assert "5 s of spraying" in later(60, 4.3, state="off")
    assert later(4.3, 0.0) == f"Rides: {word}"
    later(30, 0.0)
    expect(shown).to_be_hidden()
    assert f"{word} in 8 s" in later(0, 8.0)
    later(1800, 8.0)
    expect(shown).to_be_hidden()


def test_the_change_made_last_is_counted_and_none_that_was_over_before_the_page_was_opened(tablet: Held) -> None:
    state = load("falling")
    touched = (("a", 0.0, 1), ("b", 9.0, 7), ("c", 8.0, 3))
    lines = [line("soap", to_go_s, state["at"] - ago_s, pump) for pump, to_go_s, ago_s in touched]
    tablet.show({**state, "chemical": lines})
    expect(tablet.page.locator(".soap")).to_have_text("c: soap at the gun in 8 s")


def test_soaping_shows_no_countdown_where_no_hose_is_known(page: Page, stub: Stub) -> None:
    at(page, stub, "falling")
    page.get_by_role("button", name="Restricted: soaping").click()
    page.locator(".sheet").get_by_role("button", name="Stands").click()
    assert told(stub) == {"act": "soaping", "pump": "Stands"}
    expect(page.locator(".soap")).to_be_hidden()


def test_packing_up_says_the_weight_and_ends_again(page: Page, stub: Stub) -> None:
    at(page, stub, "falling")
    page.get_by_role("button", name="Packing up").click()
    sheet = page.locator(".sheet")
    expect(sheet).to_contain_text("Water aboard: 112 gal, about 930 lb.")  # 8.34 lb/gal at 60 °F: 934
    expect(sheet).to_contain_text("Too heavy to tow by 32 gal.")
    expect(sheet).to_contain_text("uses that up in 4 min")  # 32 gal by 10 gpm, never told too short
    for step in ("Tap shut", "pressure off", "Chemical caps shut"):
        expect(sheet).to_contain_text(step)
    sheet.get_by_role("button", name="We are packing up").click()
    assert told(stub) == {"act": "packing-up", "on": True}
    at(page, stub, "packing-up")
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="Packing up").click()
    page.get_by_role("button", name="Back to work").click()
    assert told(stub) == {"act": "packing-up", "on": False}


def test_packing_up_says_when_to_shut_the_tap(page: Page, stub: Stub) -> None:
    state = load("filling")
    state["forecast"]["volume_l"] = 60 * 3.785411784
    state["packing"] |= {"shut_tap_in_s": 286.0, "volume_then_l": 80 * 3.785411784}
    stub.show(state)
    page.goto(stub.url)
    page.get_by_role("button", name="Packing up").click()
    expect(page.locator(".sheet")).to_contain_text("shut the tap within 5 min")  # 20 gal at 4.2 gpm: 4.8 min


def test_a_new_place_asks_what_has_to_be_asked(page: Page, stub: Stub) -> None:
    at(page, stub, "idle")
    page.get_by_role("button", name="New place").click()
    sheet = page.locator(".sheet")
    for ask in ("Vacuum breaker", "above the rim", "customer allows", "Outlet valve open", "Hose flushed"):
        expect(sheet).to_contain_text(ask)
    sheet.get_by_label("Name of the place").fill("North field")
    sheet.get_by_role("button", name="We are at a new place").click()
    assert told(stub) == {"act": "new-place", "site": "North field"}


@pytest.mark.parametrize(
    ("language", "word", "coldest", "said"),
    [
        ("en", "near", 2.2, "Near freezing: the last day's lowest air was 2 °C (36 °F). Tonight:"),
        ("en", "freezes", -3.2, "It may freeze: the last day's lowest air was -3 °C (26 °F). Tonight:"),
        ("es", "freezes", -3.2, "-3 °C (26 °F)"),
    ],
)
def test_packing_up_says_what_a_cold_night_asks_for(
    tablet: Held, language: str, word: str, coldest: float, said: str
) -> None:
    words = json.loads((DASHBOARDS / "words" / f"owner.{language}.json").read_text("utf-8"))
    steps = ["drain_tank_and_lines", "blow_out_guns", "antifreeze_pump", "engine_off_if_inside"]
    frost = {"word": word, "tonight": steps, "air_c": 4.0, "coldest_c": coldest}
    tablet.show(load("falling") | {"tonight": frost}, language)
    tablet.page.locator('[data-act="act.packing"]').press("Enter")
    sheet = tablet.page.locator(".sheet")
    expect(sheet).to_contain_text(said)
    expect(sheet.locator("section li")).to_have_text([words[f"owner.frost.{step}"] for step in steps])
    tablet.show(load("falling"), language)
    tablet.page.locator('[data-act="act.packing"]').press("Enter")
    expect(sheet.locator("section")).to_have_count(0)
    tablet.page.keyboard.press("Escape")


def test_a_job_begins_and_ends_by_two_touches(page: Page, stub: Stub) -> None:
    state = load("idle") | {"work": {"site": "North field", "sites": ["North field"], "job": None}}
    stub.show(state)
    page.goto(stub.url)
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="Start a job").click()
    page.locator(".sheet .job-main").click()
    assert told(stub) == {"act": "start-job", "site": "North field"}
    state["work"]["job"] = {"site": "North field", "began": 1795600000.0, "used_l": 100 * 3.785411784}
    stub.show(state)
    page.reload()
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="Finish the job").click()
    expect(page.locator(".sheet")).to_contain_text("North field: 100 gal used")
    page.locator(".sheet .job-main").click()
    assert told(stub) == {"act": "finish-job"}


def test_it_stands_here_by_buttons_and_by_a_touch_on_the_tank(page: Page, stub: Stub) -> None:
    at(page, stub, "falling")
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="I looked: it stands here").click()
    page.get_by_role("button", name="higher").click()
    page.get_by_role("button", name="It stands at 115 gal").click()
    act = told(stub)
    assert act == {"act": "it-stands-here", "volume_l": pytest.approx(115 * 3.785411784, abs=0.1)}

    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="I looked: it stands here").click()
    page.locator(".waterline-tank .tank-wall").wait_for()
    box = page.locator(".waterline-tank .tank-wall").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.get_by_role("button", name="It stands at").click()
    half = told(stub)["volume_l"] / load("falling")["rig"]["capacity_l"]
    assert half == pytest.approx(0.5, abs=0.02), "half way up a lying cylinder stands half its volume"


@pytest.mark.parametrize(
    ("button", "flag", "act"),
    [
        ("Filling past the meter", "filling_past_meter", "filling-past-meter"),
        ("Dumping water", "dumping", "dumping"),
    ],
)
def test_one_touch_says_so_and_another_that_it_is_over(
    page: Page, stub: Stub, button: str, flag: str, act: str
) -> None:
    at(page, stub, "idle")
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name=button).click()
    assert told(stub) == {"act": act, "on": True}
    state = load("idle")
    state["supply"][flag] = True
    stub.show(state)
    page.reload()
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="No longer").click()
    assert told(stub) == {"act": act, "on": False}


def test_what_the_monitor_refuses_is_shown_with_what_to_do(page: Page, stub: Stub) -> None:
    at(page, stub, "level-uncertain")
    stub.tell(refusal={"error": "This alarm is over.", "do": "Nothing."})
    page.get_by_role("button", name="Got it").click()
    expect(page.locator(".toast")).to_have_text("Not taken: This alarm is over. Nothing.")


def test_what_did_not_arrive_is_said_over_the_open_sheet(page: Page, stub: Stub) -> None:
    at(page, stub, "idle")
    page.get_by_role("button", name="New place").click()
    page.route("**/api/act", lambda route: route.abort())
    page.get_by_role("button", name="We are at a new place").click()
    toast = page.locator(".sheet .toast")
    expect(toast).to_contain_text("Not sent")
    page.get_by_role("button", name="Close").click()
    expect(page.locator(".toast")).to_be_visible()


def test_everything_can_be_reached_by_keyboard(page: Page, stub: Stub) -> None:
    at(page, stub, "dry-soon")
    reached = []
    for _ in range(9):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("() => document.activeElement.textContent || document.activeElement.className"))
    assert any("Why, and what next" in text for text in reached)
    assert "Got it" in reached
    page.locator('[data-act="act.got_it"]').focus()
    page.keyboard.press("Enter")
    assert told(stub)["act"] == "acknowledge"


def test_on_the_road_the_page_is_covered_until_somebody_says_he_is_not_the_driver(page: Page, stub: Stub) -> None:
    stub.show("towing")
    page.goto(stub.url)
    cover = page.locator(".towing")
    expect(cover).to_contain_text("Not for the driver")
    expect(cover).to_contain_text("112 gal")
    cover.get_by_role("button").click()
    expect(cover).to_be_hidden()
    stub.show("falling")
    expect(page.locator(".digits")).to_have_text("15")
    stub.show("towing")
    expect(cover).to_be_visible()


def test_an_alarm_is_read_aloud_once(page: Page, stub: Stub) -> None:
    at(page, stub, "falling")
    spoken = page.locator('p[role="alert"]')
    expect(spoken).to_have_text("")
    page.evaluate(
        """() => { window.changes = 0;
        new MutationObserver(() => window.changes++).observe(document.querySelector('p[role="alert"]'),
          { childList: true, characterData: true, subtree: true }); }"""
    )
    stub.show("dry-soon")
    expect(spoken).to_contain_text("Stop now: Dry soon")
    stub.tell(state={**load("dry-soon"), "seq": 200})
    expect(spoken).to_contain_text("Let go of the triggers.")
    assert page.evaluate("window.changes") == 1
