"""The gallery for developers: every example state, named, and each on the real crew page."""

import pytest
from conftest import NAMES
from playwright.sync_api import Page, expect
from stub_server import Stub

pytestmark = pytest.mark.browser


def test_the_gallery_lists_every_state_and_turns_its_leaves(page: Page, stub: Stub) -> None:
    refused: list[str] = []
    page.on("console", lambda said: refused.append(said.text) if said.type == "error" else None)
    page.goto(f"{stub.url}/static/gallery/index.html")
    expect(page.locator(".list li")).to_have_count(len(NAMES))
    page.get_by_role("link", name="dry-soon", exact=True).click()
    expect(page.locator(".alarm-title")).to_contain_text("Dry soon")
    page.keyboard.press("ArrowRight")
    following = NAMES[NAMES.index("dry-soon") + 1]
    expect(page.locator(".leaf")).to_contain_text(following)
    expect(page.locator(".digits")).to_be_visible()
    assert refused == []
