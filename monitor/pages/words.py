"""Every word the pages show, in one language."""

import json
from importlib.resources import files
from typing import Any, Literal

from monitor.alarms.words import words as of_alarms


def words(language: Literal["en", "es"]) -> dict[str, Any]:
    """The pages' own words, and under ``alarms`` what each alarm is, means and asks for."""
    own: dict[str, Any] = {}
    for file in sorted(files("dashboards").joinpath("words").iterdir(), key=lambda file: file.name):
        if file.name.split(".")[-2:] == [language, "json"]:
            own |= json.loads(file.read_text("utf-8"))
    return {**own, "alarms": of_alarms(language)}
