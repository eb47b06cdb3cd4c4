"""``run`` and ``demo``: the daemon itself."""

import asyncio
import tempfile
from functools import partial
from pathlib import Path

import click

from monitor.commands.arguments import FILE, loaded
from monitor.rig.faults import RigFaults
from monitor.rig.load import parse
from monitor.rig.model import Rig, is_loopback


@click.command()
@click.argument("rig", type=FILE)
def run(rig: Path) -> None:
    """Run the daemon for the rig described in RIG."""
    _run(loaded(rig), rig)


@click.command()
@click.argument("scenario", default="fairground")
@click.option("--speed", default=10.0, show_default=True, type=click.FloatRange(0.1, 1000), help="Times as fast.")
@click.option("--seed", type=click.IntRange(0), help="Another day of the same kind than the scenario's own.")
@click.option("--listen", default="127.0.0.1:8321", show_default=True, help="Where the page is served.")
@click.option("--rig", "rig_file", type=FILE, help="Another rig file; its feeds are set aside.")
def demo(scenario: str, speed: float, seed: int | None, listen: str, rig_file: Path | None) -> None:
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


def _demo_rig(text: str, folder: Path, scenario: str, speed: float, seed: int | None, listen: str) -> Rig:
    """The rig with one simulated feed in place of all feeds, its journal in a folder that goes with the demo."""
    host = listen.rpartition(":")[0].strip("[]")
    if not is_loopback(host):
        raise click.ClickException(
            f"A demo is for this machine only, and {host} is not. Leave out --listen, or run a rig file of your own."
        )
    feed = {"simulated": scenario, "speed": speed} | ({} if seed is None else {"seed": seed})
    try:
        return parse(text, folder / "rig.toml", replaced={"feed": [feed], "page": {"listen": listen}, "journal": {}})
    except RigFaults as faults:
        raise click.ClickException(str(faults)) from None


def _run(rig: Rig, path: Path | None) -> None:
    from monitor.daemon import Daemon
    from monitor.journal.faults import JournalInUse
    from monitor.pages.certificate import CertificateFault
    from monitor.pages.serving import PortTaken, listen, url_of
    from monitor.state_file import NewerState

    try:
        sock = listen(rig.page.host, rig.page.port)
        url = url_of(sock, secure=not is_loopback(rig.page.host))
        said = f"Holdwater watches {rig.about.name}. The page: {url}   (Ctrl-C ends it)"
        if any(feed.kind == "simulated" for feed in rig.feeds):
            said += f"\nWhat is true beside what is believed, and faults by a click: {url}/bench"
        asyncio.run(Daemon(rig, path).run(sock, partial(click.echo, said)))
    except (CertificateFault, PortTaken, JournalInUse, NewerState) as fault:
        raise click.ClickException(str(fault)) from None
    click.echo("Holdwater has stopped.")
