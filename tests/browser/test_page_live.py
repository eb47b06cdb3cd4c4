"""The stream: silence is noticed by the page's own clock, a killed monitor too, and word that comes again is shown.

The page's clock is held by the test (playwright's clock), so nothing here waits for seconds to pass.
"""

from typing import Any

import pytest
from playwright.sync_api import Page, expect
from stub_server import Stub, load

pytestmark = pytest.mark.browser

TICK_MS = 250  # how often the page looks at its clock
# one turn of the page's event loop, which its held clock doesn't hold
TURN = """() => new Promise((done) => {
  const channel = new MessageChannel();
  channel.port1.onmessage = () => done();
  channel.port2.postMessage(0);
})"""


def opened(page: Page, stub: Stub) -> None:
    """The page with its first state shown and its clock standing still."""
    page.clock.install(time="2026-11-25T10:00:00")
    page.goto(stub.url)
    expect(page.locator(".digits")).to_have_text("15")
    still(page)
    heard(page, stub)


def still(page: Page) -> None:
    """Stops the page's clock a second from now."""
    page.clock.pause_at(page.evaluate("Date.now() / 1000 + 1"))


def heard(page: Page, stub: Stub) -> None:
    """Lets a state through and waits until the page has shown it."""
    name = f"Heard {stub.now()['at']:.6f}"
    stub.tell(state={**stub.state, "rig": {**stub.state["rig"], "name": name}})
    expect(page.locator(".top-name")).to_have_text(name)


def hush(page: Page, stub: Stub, **how: Any) -> None:
    stub.tell(**how)
    page.evaluate(TURN)


def test_three_seconds_of_silence_cover_the_page(page: Page, stub: Stub) -> None:
    opened(page, stub)
    notice = page.locator(".silence")
    hush(page, stub, silent=True)
    page.clock.run_for(2900 - TICK_MS)
    expect(notice).to_be_hidden()
    page.clock.run_for(2 * TICK_MS + 100)
    expect(notice).to_be_visible()
    expect(notice).to_contain_text("No word for 3 s")
    expect(notice).to_contain_text("Look at the tank.")
    box = notice.bounding_box()
    assert box == {"x": 0, "y": 0, "width": 1280, "height": 800}


def test_the_notice_counts_on_and_goes_when_word_comes(page: Page, stub: Stub) -> None:
    opened(page, stub)
    hush(page, stub, silent=True)
    page.clock.run_for(65_000)
    expect(page.locator(".silence")).to_contain_text("No word for 65 s")
    stub.tell(silent=False, started=stub.started - 65)
    page.clock.run_for(1000)
    expect(page.locator(".silence")).to_be_hidden()


def test_the_notice_stands_over_an_open_sheet_and_escape_does_not_close_it(page: Page, stub: Stub) -> None:
    opened(page, stub)
    page.get_by_role("button", name="New place").click()
    hush(page, stub, silent=True)
    page.clock.run_for(4000)
    for _ in range(3):
        page.keyboard.press("Escape")
        page.clock.run_for(TICK_MS)
    expect(page.locator(".silence")).to_be_visible()
    over = page.evaluate("() => document.elementFromPoint(640, 400).closest('.silence') !== null")
    assert over


def test_a_killed_monitor_is_noticed_and_the_page_finds_it_again(page: Page, stub: Stub) -> None:
    opened(page, stub)
    hush(page, stub, down=True)
    page.clock.run_for(3500)
    expect(page.locator(".silence")).to_be_visible()
    stub.tell(down=False, state=load("dry-soon"))
    page.clock.run_for(7000)
    expect(page.locator(".silence")).to_be_hidden()
    expect(page.locator(".alarm-title")).to_contain_text("Dry soon")


def test_a_stream_that_stays_open_and_mute_is_opened_anew(page: Page, stub: Stub) -> None:
    opened(page, stub)
    streams: list[str] = []
    page.on("request", lambda request: streams.append(request.url) if request.url.endswith("/api/live") else None)
    hush(page, stub, silent=True)
    page.clock.run_for(6000)
    assert len(streams) == 1


def test_while_the_stream_is_mute_the_state_is_asked_for(page: Page, stub: Stub) -> None:
    """A proxy or a browser that holds streams back doesn't blind the page."""
    page.route("**/api/live", lambda route: route.abort())
    page.goto(stub.url)
    expect(page.locator(".digits")).to_have_text("15")
    expect(page.locator(".silence")).to_be_hidden()


def test_nothing_heard_from_the_start_is_said(page: Page, stub: Stub) -> None:
    stub.tell(silent=True)
    page.clock.install(time="2026-11-25T10:00:00")
    page.goto(stub.url)
    page.wait_for_function("() => document.querySelector('.silence')")
    page.clock.run_for(3500)
    expect(page.locator(".silence")).to_contain_text("Nothing heard yet")


def test_without_words_the_page_says_to_look_at_the_tank_and_asks_again(page: Page, stub: Stub) -> None:
    refuse = True
    page.route("**/static/words/*", lambda route: route.abort() if refuse else route.continue_())
    page.clock.install(time="2026-11-25T10:00:00")
    page.goto(stub.url)
    expect(page.locator("body")).to_contain_text("Look at it meanwhile. · ")
    refuse = False
    page.clock.run_for(1500)
    expect(page.locator(".digits")).to_have_text("15")


def test_the_age_of_the_level_grows_between_two_states(page: Page, stub: Stub) -> None:
    stub.show("stale")
    page.clock.install(time="2026-11-25T10:00:00")
    page.goto(stub.url)
    expect(page.locator(".top-age")).to_contain_text("level read 47 s ago")
    still(page)
    heard(page, stub)
    hush(page, stub, silent=True)
    page.clock.run_for(2500)
    expect(page.locator(".top-age")).to_contain_text("level read 49 s ago")


LATE = """async ([gaps]) => {
  const { Live } = await import("/static/crew/live.js");
  let now = 0;
  performance.now = () => 1000 * now;
  const live = new Live(() => {});
  const said = [];
  for (const [gap, moved] of gaps) {
    now += gap;
    live.take({ at: (live.last ? live.last.at : 1.8e9) + moved, speed: 1, started_s: 10 });
    said.push(live.silent());
  }
  return said;
}"""


def test_old_states_out_of_a_queue_do_not_count_as_heard(page: Page, stub: Stub) -> None:
    """A page that slept a minute and reads what piled up meanwhile is not up to date until the pile is read."""
    page.goto(f"{stub.url}/bare")
    slept = [[1, 1], [60, 1], *[[0.01, 1]] * 59]
    said = page.evaluate(LATE, [slept])
    assert said[1] is True
    assert said[-1] is False


def test_an_answer_overtaken_by_the_stream_is_not_shown(page: Page, stub: Stub) -> None:
    page.goto(f"{stub.url}/bare")
    shown = """async () => {
      const { Live } = await import("/static/crew/live.js");
      const shown = [];
      const live = new Live((state) => shown.push(state.name));
      live.take({ name: "old", at: 100, speed: 1, started_s: 10 });
      live.take({ name: "new", at: 102, speed: 1, started_s: 12 });
      live.take({ name: "overtaken", at: 101, speed: 1, started_s: 11 });
      live.take({ name: "begun anew, its clock set back", at: 50, speed: 1, started_s: 1 });
      return shown;
    }"""
    assert page.evaluate(shown) == ["old", "new", "begun anew, its clock set back"]


def test_a_monitor_that_slept_with_its_machine_is_heard_again(page: Page, stub: Stub) -> None:
    page.goto(f"{stub.url}/bare")
    said = page.evaluate(LATE, [[[1, 1], [3600, 1], *[[1, 1]] * 8]])
    assert said[1] is True
    assert said[-1] is False


def test_a_monitor_whose_own_time_stands_still_is_noticed(page: Page, stub: Stub) -> None:
    page.goto(f"{stub.url}/bare")
    assert page.evaluate(LATE, [[[1, 1], *[[1, 0]] * 12]])[-1] is True


def test_a_monitor_that_runs_slow_is_heard_all_the_same(page: Page, stub: Stub) -> None:
    page.goto(f"{stub.url}/bare")
    assert not any(page.evaluate(LATE, [[[1, 0.7]] * 600]))


def test_what_is_not_real_is_said_so(page: Page, stub: Stub) -> None:
    stub.show("simulated")
    page.goto(stub.url)
    expect(page.locator(".top-feed")).to_have_text("SIMULATED · fairground · 10 × real speed")
    stub.show({**load("falling"), "source": "recorded"})
    expect(page.locator(".top-feed")).to_have_text("RECORDED")
    stub.show("falling")
    expect(page.locator(".top-feed")).to_be_hidden()


def test_the_rigs_language_is_taken_until_the_reader_chooses(page: Page, stub: Stub) -> None:
    stub.show("long-names")
    page.goto(stub.url)
    expect(page.locator(".head-trend")).to_have_text("baja")
    page.locator('[data-act="act.more"]').click()
    page.get_by_role("button", name="English").click()
    expect(page.locator(".sheet-title")).to_have_text("More")
    page.reload()
    expect(page.locator(".head-trend")).to_have_text("falling")


def test_the_past_is_asked_for_and_then_carried_on(page: Page, stub: Stub) -> None:
    page.goto(stub.url)
    expect(page.locator(".water-line")).to_be_visible()
    expect(page.locator(".axis")).to_contain_text("−60 min")


def test_nothing_is_fetched_from_anywhere_else(page: Page, stub: Stub) -> None:
    elsewhere: list[str] = []
    page.on("request", lambda request: elsewhere.append(request.url) if not request.url.startswith(stub.url) else None)
    refused: list[str] = []
    page.on("console", lambda said: refused.append(said.text) if "Content Security Policy" in said.text else None)
    page.goto(stub.url)
    expect(page.locator(".digits")).to_have_text("15")
    assert elsewhere == []
    assert refused == []
