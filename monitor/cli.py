"""The command line: ``holdwater``."""

import asyncio
import json
import logging
import sys
import tempfile
from functools import partial
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import click

from monitor import __version__
from monitor.rig.faults import RigFaults
from monitor.rig.load import load, parse
from monitor.rig.model import Rig

FILE = click.Path(dir_okay=False, path_type=Path)
FILE_THERE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="holdwater")
def main() -> None:
    """Watches the water on an exterior-cleaning trailer. It advises; it is no safety device."""
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(message)s", stream=sys.stderr)


@main.command()
@click.argument("rig", type=FILE)
def run(rig: Path) -> None:
    """Run the daemon for the rig described in RIG."""
    _run(_load(rig), rig)


@main.command()
@click.argument("scenario", default="fairground")
@click.option("--speed", default=10.0, show_default=True, type=click.FloatRange(0.1, 1000), help="Times as fast.")
@click.option("--seed", default=1, show_default=True, type=click.IntRange(0), help="Which of the days to play.")
@click.option("--listen", default="127.0.0.1:8321", show_default=True, help="Where the page is served.")
@click.option("--rig", "rig_file", type=FILE, help="Another rig file; its feeds are set aside.")
def demo(scenario: str, speed: float, seed: int, listen: str, rig_file: Path | None) -> None:
    """Run the daemon on a simulated SCENARIO: no broker, no serial port, nothing to set up."""
    from simulated_feeds import BadScenario, open_scenario

    try:
        text = open_scenario(scenario, seed=seed).rig_toml
    except (BadScenario, OSError) as error:
        raise click.ClickException(str(error)) from None
    if rig_file is not None:
        text = rig_file.read_text("utf-8")
    with tempfile.TemporaryDirectory(prefix="holdwater-demo-") as folder:
        _run(_demo_rig(text, Path(folder), scenario, speed, seed, listen), None)


def _demo_rig(text: str, folder: Path, scenario: str, speed: float, seed: int, listen: str) -> Rig:
    """The rig with one simulated feed in place of all feeds, its journal in a folder that goes with the demo."""
    feed = {"simulated": scenario, "speed": speed, "seed": seed}
    try:
        return parse(text, folder / "rig.toml", replaced={"feed": [feed], "page": {"listen": listen}, "journal": {}})
    except RigFaults as faults:
        raise click.ClickException(str(faults)) from None


def _run(rig: Rig, path: Path | None) -> None:
    from monitor.daemon import Daemon
    from monitor.journal.faults import JournalInUse
    from monitor.pages.serving import PortTaken, listen, url_of

    try:
        sock = listen(rig.page.host, rig.page.port)
        said = f"Holdwater watches {rig.about.name}. The page: {url_of(sock)}   (Ctrl-C ends it)"
        asyncio.run(Daemon(rig, path).run(sock, partial(click.echo, said)))
    except (PortTaken, JournalInUse) as fault:
        raise click.ClickException(str(fault)) from None
    click.echo("Holdwater has stopped.")


@main.command()
@click.argument("rig", type=FILE)
def check(rig: Path) -> None:
    """Say what is understood of the rig file RIG, in the owner's units, or all that is wrong with it."""
    from monitor.rig.describe import describe

    click.echo(describe(_load(rig)))


@main.command()
@click.argument("rig", type=FILE)
@click.argument("feed", type=FILE_THERE)
@click.option("--events", required=True, type=FILE, help="Where the events go, a JSON line each.")
@click.option("--state", "state", type=FILE_THERE, help="A state file to begin with.")
def replay(rig: Path, feed: Path, events: Path, state: Path | None) -> None:
    """Play the recorded FEED through the core of RIG, as fast as it goes; the same input gives the same bytes."""
    from monitor.replay import replay as play

    saved = None if state is None else _state(state)
    try:
        played = play(_load(rig), feed, events, saved)
    except OSError as error:
        raise click.ClickException(f"{error.filename}: {error.strerror}. Check the file and the disk.") from None
    said = f"{played.lines} lines, {played.forecasts} forecasts, {played.alarms} alarm changes"
    click.echo(said + (f"; {played.rejected} rejects" if played.rejected else "") + f" → {events}")


@main.command()
@click.argument("rig", type=FILE)
@click.option("--check", is_flag=True, help="Read all of it and say what is broken.")
@click.option("--backup", type=FILE, help="Copy it there, also while the daemon runs.")
@click.option("--feed", type=FILE, help="Write there the feed as it came, to be replayed.")
@click.option("--csv", type=click.Choice(["readings", "forecasts", "alarms"]), help="Print a table.")
def journal(rig: Path, check: bool, backup: Path | None, feed: Path | None, csv: str | None) -> None:
    """Say what is in the journal of RIG, how big it is, and how much a day adds; or give it out."""
    from monitor.journal import describe, export
    from monitor.journal.faults import JournalFault

    known = _load(rig)
    file = known.journal.file
    try:
        if backup is not None:
            export.backup(file, backup)
        if feed is not None:
            with feed.open("wb") as out:
                out.writelines(export.recorded(file))
        if check:
            _say_broken(describe.check(file))
        if csv is not None:
            tables = {"readings": export.readings_csv, "forecasts": export.forecasts_csv, "alarms": export.alarms_csv}
            for line in tables[csv](file):
                click.echo(line, nl=False)
        if not (check or backup or feed or csv):
            click.echo(describe.summary(file, ZoneInfo(known.about.timezone or "UTC")), nl=False)
    except JournalFault as fault:
        raise click.ClickException(str(fault)) from None
    except OSError as error:
        raise click.ClickException(f"{error.filename}: {error.strerror}. Check the file and the disk.") from None


def _say_broken(broken: list[str]) -> None:
    for each in broken:
        click.echo(each)
    if broken:
        raise click.exceptions.Exit(1)
    click.echo("All of it can be read.")


def _state(path: Path) -> dict[str, Any]:
    try:
        saved = json.loads(path.read_text("utf-8"))
    except ValueError as error:
        raise click.ClickException(f"{path} is no state file: {error}. Leave out --state to begin afresh.") from None
    return dict(saved)


def _load(path: Path) -> Rig:
    try:
        return load(path)
    except RigFaults as faults:
        raise click.ClickException(str(faults)) from None
