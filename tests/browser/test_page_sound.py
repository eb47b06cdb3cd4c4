"""What is heard of the page, and that its screen stays awake."""

import pytest
from playwright.sync_api import Page, expect
from stub_server import Stub, at, load

pytestmark = pytest.mark.browser

OSCILLATORS = """() => {
  window.heard = [];
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (at) {
    window.heard.push(this.frequency.value);
    return start.call(this, at);
  };
}"""


def test_sound_takes_one_touch_and_only_cries_for_what_nobody_has_seen(page: Page, stub: Stub) -> None:
    page.clock.install(time="2026-11-25T10:00:00")
    at(page, stub, "dry-soon")
    page.evaluate(OSCILLATORS)
    page.clock.run_for(2500)
    assert page.evaluate("window.heard") == []
    page.get_by_role("button", name="Sound off").click()
    page.wait_for_function("() => window.heard.length >= 3")  # the test pattern
    page.clock.run_for(2500)
    assert 2100 in page.evaluate("window.heard")
    expect(page.get_by_role("button", name="Sound off")).to_have_count(0)
    stub.show("dry-soon-heard")
    page.locator(".alarm-rest").wait_for()
    page.evaluate("window.heard = []")
    page.clock.run_for(5500)
    assert 1200 in page.evaluate("window.heard")  # the second alarm, not seen yet, is a high one
    assert 2100 not in page.evaluate("window.heard")
    stub.show("holding")
    expect(page.locator(".word")).to_have_text("holding")
    page.evaluate("window.heard = []")
    page.clock.run_for(70_000)
    assert page.evaluate("window.heard") == []


def test_the_sound_can_be_tested(page: Page, stub: Stub) -> None:
    at(page, stub, "holding")
    page.evaluate(OSCILLATORS)
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="Test the sound").click()
    page.wait_for_function("() => window.heard.length >= 3")
    expect(page.locator(".sheet")).to_contain_text("Sound is allowed.")


def test_patterns_differ_and_lie_where_ears_and_small_speakers_are_good(page: Page, stub: Stub) -> None:
    page.goto(f"{stub.url}/bare")
    patterns = page.evaluate("async () => (await import('/static/crew/sound.js')).PATTERNS")
    assert set(patterns) == {"critical", "high", "medium", "low"}
    assert all(500 <= hz <= 2500 for pattern in patterns.values() for hz, _, _ in pattern["tones"])
    assert len({str(pattern["tones"]) for pattern in patterns.values()}) == 4
    assert sorted(patterns, key=lambda name: patterns[name]["every_s"]) == ["critical", "high", "medium", "low"]
    for pattern in patterns.values():
        assert sum(on + pause for _, on, pause in pattern["tones"]) < pattern["every_s"]


def test_on_the_road_only_what_says_stop_is_heard(page: Page, stub: Stub) -> None:
    page.goto(f"{stub.url}/bare")
    choose = "async (state) => (await import('/static/crew/sound.js')).soundFor(state)"
    assert page.evaluate(choose, load("towing")) is None
    assert page.evaluate(choose, load("packing-up")) == "medium"
    assert page.evaluate(choose, {**load("dry-soon"), "motion": True}) == "critical"


# The screen


def test_the_screen_is_kept_awake_and_the_page_says_so_truly(page: Page, stub: Stub) -> None:
    """Asked of the real browser, on loopback, which counts as safe; a lock that was let go of is asked for again."""
    page.add_init_script("""
      const asked = WakeLock.prototype.request;
      window.locks = [];
      WakeLock.prototype.request = async function (kind) {
        const lock = await asked.call(this, kind);
        locks.push(lock);
        return lock;
      };""")
    at(page, stub, "falling")
    page.wait_for_function("() => locks.length === 1 && !locks[0].released")
    page.locator('[data-act="act.more"]').click()
    expect(page.locator(".sheet")).to_contain_text("The screen is kept awake.")
    page.get_by_role("button", name="Close").click()
    page.evaluate("() => locks[0].release()")
    page.locator('[data-act="act.more"]').click()
    page.wait_for_function("() => locks.length === 2 && !locks[1].released")


def test_a_screen_that_may_go_to_sleep_is_not_called_awake(page: Page, stub: Stub) -> None:
    page.add_init_script("WakeLock.prototype.request = () => Promise.reject(new DOMException('low battery'))")
    at(page, stub, "falling")
    page.locator('[data-act="act.more"]').click()
    expect(page.locator(".sheet")).to_contain_text("The browser does not keep the screen awake just now")


def test_without_https_it_says_what_is_missing(page: Page, stub: Stub) -> None:
    page.add_init_script("delete Navigator.prototype.wakeLock")
    at(page, stub, "falling")
    page.locator('[data-act="act.more"]').click()
    expect(page.locator(".sheet")).to_contain_text("need HTTPS on any device but the monitor's own")
