"""``check`` and ``replay``: what is understood of a rig file, and a recorded day played through the core."""

import json
from pathlib import Path
from typing import Any

import click

from monitor.commands.arguments import FILE, FILE_THERE, loaded


@click.command()
@click.argument("rig", type=FILE)
def check(rig: Path) -> None:
    """Say what is understood of the rig file RIG, in the owner's units, or all that is wrong with it."""
    from monitor.rig.describe import describe

    click.echo(describe(loaded(rig)))


@click.command()
@click.argument("rig", type=FILE)
@click.argument("feed", type=FILE_THERE)
@click.option("--events", required=True, type=FILE, help="Where the events go, a JSON line each.")
@click.option("--state", "state", type=FILE_THERE, help="A state file to begin with.")
def replay(rig: Path, feed: Path, events: Path, state: Path | None) -> None:
    """Play the recorded FEED through the core of RIG, as fast as it goes; the same input gives the same bytes."""
    from monitor.replay import replay as play

    saved = None if state is None else _state(state)
    try:
        played = play(loaded(rig), feed, events, saved)
    except OSError as error:
        raise click.ClickException(f"{error.filename}: {error.strerror}. Check the file and the disk.") from None
    said = f"{played.lines} lines, {played.forecasts} forecasts, {played.alarms} alarm changes"
    click.echo(said + (f"; {played.rejected} rejects" if played.rejected else "") + f" → {events}")


def _state(path: Path) -> dict[str, Any]:
    try:
        saved = json.loads(path.read_text("utf-8"))
    except ValueError as error:
        raise click.ClickException(f"{path} is no state file: {error}. Leave out --state to begin afresh.") from None
    return dict(saved)
