"""What a touch on a figure says."""

import json
import re

from playwright.sync_api import Locator, expect
from stub_server import DASHBOARDS


def explained(figures: Locator, file: str, keys: list[str]) -> None:
    """Each figure opens at a touch and says its own words, two sentences at least."""
    words = json.loads((DASHBOARDS / "words" / file).read_text("utf-8"))
    expect(figures).to_have_count(len(keys))
    for figure, key in zip(figures.all(), keys, strict=True):
        said = words[f"{key}_why"]
        assert len(re.findall(r"[.:;](?: |$)", said)) >= 2
        figure.locator("summary").click()
        expect(figure.locator("p")).to_have_text(said)
