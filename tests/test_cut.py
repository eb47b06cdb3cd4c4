"""``holdwater cut``: a day cut down shows the alarms that the whole day showed in those minutes."""

import itertools
import json
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner

from monitor.changes import AlarmChange
from monitor.cli import main
from monitor.commands.moments import Span, moment
from monitor.core import Core
from monitor.feeds.recorded import Recording
from monitor.feeds.simulated import read
from monitor.journal.writer import Journal
from monitor.rig.load import load
from monitor.wire.recorded import write_event
from simulated_feeds import open_scenario

SLIP_S = 30.0
"""An alarm may come so much earlier or later where less was known of what went before."""


def recorded(folder: Path, scenario: str, minutes: float) -> tuple[Path, Path, list]:
    """The rig file, the recorded feed, and its events."""
    story = open_scenario(scenario)
    rig, feed = folder / "rig.toml", folder / "day.jsonl"
    rig.write_text(story.rig_toml, "utf-8")
    name = load(rig).named_feeds[0][0]
    events = [read(said, name) for said in story.advance(story.start_at + 60.0 * minutes)]
    feed.write_bytes(b"".join(map(write_event, events)))
    return rig, feed, events


def ran(*arguments: object) -> str:
    ended = CliRunner().invoke(main, [str(each) for each in arguments])
    assert ended.exit_code == 0, ended.output
    return ended.output


def alarms(rig: Path, feed: Path, start_at: float, saved: dict | None = None) -> list[tuple[float, str, str]]:
    """(s after the first event, alarm, state), as a daemon has them that is given the recording for a feed."""
    core = Core(load(rig), saved)
    recording = Recording(feed, "recorded 1", start_at)
    changes = [change for event in recording.advance(2e10) for change in core.take(event)]
    recording.close()
    return [(change.at - start_at, change.alarm, change.state) for change in changes if isinstance(change, AlarmChange)]


@pytest.mark.parametrize(
    ("scenario", "at_min", "run_in"), [("shut-tap", 25, 15), ("frozen-sensor", 20, 15), ("lost-node", 15, 5)]
)
def test_a_cut_day_shows_the_alarms_of_the_whole_day(scenario: str, at_min: int, run_in: int, tmp_path: Path) -> None:
    """With some minutes to settle in; played again on another day."""
    rig, feed, events = recorded(tmp_path, scenario, at_min + 6)
    short = tmp_path / "short.jsonl"
    since, until = at_min - 1, at_min + 5
    window = ("--from", f"+{since} min", "--to", f"+{until} min", "--run-in", f"{run_in} min")
    ran("cut", rig, short, "--feed", feed, *window)
    begins_at = events[0].at
    cut_s = 60.0 * (since - run_in)
    assert len(short.read_bytes()) < 0.9 * len(feed.read_bytes())
    whole = [(at - cut_s, *what) for at, *what in alarms(rig, feed, begins_at) if 60 * since <= at < 60 * until]
    again = [each for each in alarms(rig, short, begins_at + 86_400.0) if each[0] >= 60.0 * run_in]
    assert whole
    assert [each[1:] for each in again] == [each[1:] for each in whole]
    assert [each[0] for each in again] == pytest.approx([each[0] for each in whole], abs=SLIP_S)


def test_it_cuts_from_the_journal_as_from_a_file_and_writes_what_was_learned(tmp_path: Path) -> None:
    rig, feed, events = recorded(tmp_path, "fairground", 6)
    clock = itertools.count()
    journal = Journal(load(rig).journal.file, lambda: next(clock), wall=lambda: events[0].at)
    for number, event in enumerate(events, 1):
        journal.put(event)
        if number % 100 == 0:
            journal.step()
    journal.close()
    window = ("--from", "+3 min", "--to", "-1 min", "--run-in", "1 min")
    one, other, state = tmp_path / "one.jsonl", tmp_path / "other.jsonl", tmp_path / "state.json"
    said = ran("cut", rig, one, "--feed", feed, *window, "--state", state)
    ran("cut", rig, other, *window)
    assert "with 1 min to settle in" in said
    assert abs(len(one.read_bytes().splitlines()) - len(other.read_bytes().splitlines())) <= 3
    assert one.read_bytes().splitlines()[40:-40] == other.read_bytes().splitlines()[40:-40]
    learned = json.loads(state.read_text("utf-8"))
    assert learned["at"] == pytest.approx(events[0].at + 120.0, abs=1.0)
    assert learned["total"]["last"] > 0.0
    out = tmp_path / "events.jsonl"
    ran("replay", rig, one, "--state", state, "--events", out)
    first = json.loads(out.read_text("utf-8").splitlines()[0])
    assert first["volume_l"] == pytest.approx(learned["volume_l"][0], rel=0.05)


@pytest.mark.parametrize(
    ("window", "words"),
    [
        (("--from", "noon", "--to", "+2 min"), 'found "noon", expected a time like "10:15"'),
        (("--from", "+2 min", "--to", "+1 min"), "in their order, within what is recorded, from 20"),
        (("--from", "2001-01-01 10:00", "--to", "+1 min"), "within what is recorded"),
        (("--from", "+1 min", "--to", "+2 min", "--run-in", "long"), "long"),
    ],
)
def test_a_time_that_is_none_is_a_sentence(window: tuple[str, ...], words: str, tmp_path: Path) -> None:
    rig, feed, _ = recorded(tmp_path, "fairground", 3)
    ended = CliRunner().invoke(main, ["cut", str(rig), str(tmp_path / "out"), "--feed", str(feed), *window])
    assert ended.exit_code == 1
    assert words in ended.output
    assert not (tmp_path / "out").exists()


def test_an_empty_recording_is_a_sentence(tmp_path: Path) -> None:
    rig, feed, _ = recorded(tmp_path, "fairground", 1)
    feed.write_bytes(b"")
    ended = CliRunner().invoke(
        main, ["cut", str(rig), str(tmp_path / "out"), "--feed", str(feed), "--from", "+1 s", "--to", "+2 s"]
    )
    assert "is empty" in ended.output


CHICAGO = ZoneInfo("America/Chicago")
SPAN = Span(1795600000.0, 1795630000.0, CHICAGO)
"""From 2026-11-25 03:46:40 to 12:06:40 in Chicago."""


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("+12 min", 1795600720.0), ("- 30 min", 1795628200.0), ("10:15", 1795623300.0), ("9:05:30", 1795619130.0),
        ("2026-11-25 10:15", 1795623300.0), ("2026-11-25T16:15Z", 1795623300.0),
        ("13:00", 1795633200.0),
    ],
)  # fmt: skip
def test_moments_are_read_as_people_write_them(text: str, at: float) -> None:
    assert moment(text, SPAN) == at


def test_a_time_is_that_of_the_last_day_that_has_it() -> None:
    two_days = SPAN._replace(begins=SPAN.begins - 86_400.0)
    assert moment("13:00", two_days) == 1795633200.0 - 86_400.0
