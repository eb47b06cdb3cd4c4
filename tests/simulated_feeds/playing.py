"""What the tests of the simulated world share: stories from a few lines of text, and readings out of events."""

from typing import Any

from simulated_feeds.scenario import make_scenario, read_scenario
from simulated_feeds.story import Story

Event = dict[str, Any]


def story_of(text: str, rig: str = "fairground", seed: int = 1) -> Story:
    return Story(read_scenario("test", f'rig = "{rig}"\n{text}'), seed)


def story_with(text: str, old: str, new: str) -> Story:
    """The same on the fairground's rig with one thing changed in its rig file."""
    played = read_scenario("test", text)
    assert old in played.rig_toml
    return Story(make_scenario("test", played.tables, played.rig_toml.replace(old, new)), 1)


def readings(events: list[Event], reading: str) -> list[tuple[float, Any]]:
    """(time of arrival, value) of every record of that name."""
    node, _, name = reading.partition("/")
    return [
        (event["at"], record.get("v", record.get("vb")))
        for event in events
        if event.get("node") == node
        for record in event.get("pack", ())
        if record["n"] == name
    ]


def packs(events: list[Event], node: str) -> list[Event]:
    return [event for event in events if event.get("node") == node and "pack" in event]


def minutes(story: Story, upto: float) -> list[Event]:
    return story.advance(story.start_at + 60 * upto)
