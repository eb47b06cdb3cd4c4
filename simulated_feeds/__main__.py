"""Plays a scenario out through a door: ``python -m simulated_feeds SCENARIO --recorded FILE | --pty | --mqtt URL``."""

import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import click

from simulated_feeds.doors import Broker, Door, RecordedFile, SerialLine
from simulated_feeds.scenario import load_scenario, scenario_names
from simulated_feeds.story import DEFAULT_START_AT, Story
from simulated_feeds.units import BadScenario

_STRIDE_S = 0.05
_TELLS_EVERY_S = 1.0


@click.command(epilog="The scenarios: " + ", ".join(scenario_names()))
@click.argument("scenario")
@click.option("--recorded", type=click.Path(path_type=Path), help="Write a recorded feed to this file.")
@click.option("--pty", is_flag=True, help="Open a pseudo-terminal and say where.")
@click.option("--baud", default=115200, show_default=True, help="The speed of the pseudo-terminal.")
@click.option("--mqtt", "broker", metavar="URL", help="Publish to this broker, each node by itself.")
@click.option("--speed", type=float, help="Times real time; as fast as it goes for a file, else 1.")
@click.option("--seed", type=int, help="Another day of the same kind.")
@click.option("--hours", type=float, help="How much of the day; all of it if not said.")
@click.option("--rig", type=click.Path(path_type=Path), help="Also write the rig file that goes with it.")
def main(scenario: str, recorded: Path | None, pty: bool, baud: int, broker: str | None, speed: float | None,
         seed: int | None, hours: float | None, rig: Path | None) -> None:
    """Plays SCENARIO, a name or a file, out through one door."""
    if [recorded is not None, pty, broker is not None].count(True) != 1:
        raise click.UsageError("found no door or several, expected one of --recorded FILE, --pty, --mqtt URL")
    try:
        story = Story(load_scenario(scenario), seed, DEFAULT_START_AT if recorded else time.time())
    except BadScenario as wrong:
        raise click.ClickException(str(wrong)) from None
    if rig is not None:
        rig.write_text(story.rig_toml, encoding="utf-8")
    door: Any = RecordedFile(recorded) if recorded else Broker(broker) if broker else SerialLine(baud)
    if pty:
        click.echo(f"serial = \"{door.path}\"", err=True)
    speed = speed if speed or recorded else 1.0
    with door, suppress(KeyboardInterrupt):
        play(story, door, story.start_at + (hours or story.scenario.hours) * 3600.0, speed)
    click.echo("", err=True)


def play(
    story: Story,
    door: Door,
    until_at: float,
    speed: float | None,
    clock: Callable[[], float] = time.monotonic,
    sleep: Callable[[float], None] = time.sleep,
) -> None:
    """Lets the story run out through a door, at a speed or as fast as it goes; a line on the terminal says how far."""
    began_s = told_s = clock()
    at = story.start_at
    while at < until_at:
        now_s = clock()
        at = min(story.start_at + (now_s - began_s) * speed if speed else at + 60.0, until_at)
        for event in story.advance(at):
            door.put(event)
        if now_s - told_s > _TELLS_EVERY_S or at >= until_at:
            told_s = now_s
            _tell(story, at, until_at)
        if speed:
            sleep(_STRIDE_S)


def _tell(story: Story, at: float, until_at: float) -> None:
    done = (at - story.start_at) / (until_at - story.start_at)
    truth = story.truth(at, look_ahead_s=0.0)
    bar = "#" * round(30 * done)
    line = f"\r{story.title}, seed {story.seed} [{bar:<30}] {done:4.0%}  {truth.volume_l:6.0f} L  {truth.phase:<6}"
    print(line, end="", file=sys.stderr, flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
