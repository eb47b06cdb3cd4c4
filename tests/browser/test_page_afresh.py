"""A page of which a file is lost on its way comes all the same."""

import pytest
from playwright.sync_api import Page
from stub_server import Stub

pytestmark = pytest.mark.browser


def test_a_page_of_which_a_script_is_lost_is_loaded_anew_when_the_monitor_answers(page: Page, stub: Stub) -> None:
    page.clock.install(time="2026-11-25T10:00:00")
    page.route("**/static/crew/waterline.js", lambda route: route.abort("connectionreset"))
    page.goto(stub.url)
    stub.tell(down=True)
    page.clock.run_for(20_000)
    assert page.get_by_text("Look at it meanwhile").is_visible()
    page.unroute("**/static/crew/waterline.js")
    stub.tell(down=False)
    page.clock.run_for(20_000)
    page.locator(".page").wait_for()
