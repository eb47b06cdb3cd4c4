"""``practice``: drills for a new hand on a simulated rig, under a banner that says so."""

import asyncio
import tempfile
from functools import partial
from pathlib import Path

import click

from monitor.rig.model import is_loopback

DRILLS = ("kinked-tap", "two-guns", "no-soap")


@click.command()
@click.argument("drill", required=False, type=click.Choice(DRILLS))
@click.option("--speed", default=3.0, show_default=True, type=click.FloatRange(0.5, 100), help="Times as fast.")
@click.option("--listen", default="127.0.0.1:8322", show_default=True, help="Where the page is served.")
@click.option("--language", type=click.Choice(["en", "es"]), help="What the pages speak at first.")
def practice(drill: str | None, speed: float, listen: str, language: str | None) -> None:
    """Practise with a new hand on a simulated rig: a kinked tap hose, low water with two guns open, no soap.

    Without a DRILL the page offers them. No horn is blown, no permit given, no broker told anything.
    """
    if not is_loopback(listen.rpartition(":")[0].strip("[]")):
        raise click.ClickException(f"Practice is for this machine only, and {listen} is not. Leave out --listen.")
    while True:
        with tempfile.TemporaryDirectory(prefix="holdwater-practice-") as folder:
            drill, listen = _one(drill, speed, listen, language, Path(folder))
        if drill is None:
            click.echo("The practice is over.")
            return


def _one(
    drill: str | None, speed: float, listen: str, language: str | None, folder: Path
) -> tuple[str | None, str]:
    """One day of it; the drill that was chosen to go on with, and where it is served."""
    from monitor.drills.catalogue import DRILLS as KNOWN
    from monitor.pages.serving import PortTaken, url_of
    from monitor.pages.serving import listen as bound
    from monitor.practice import BEFORE, PracticeDaemon, practice_rig
    from simulated_feeds import open_scenario

    scenario = BEFORE if drill is None else KNOWN[drill].scenario
    rig = practice_rig(open_scenario(scenario).rig_toml, scenario, listen, folder, speed, language)
    try:
        sock = bound(rig.page.host, rig.page.port)
    except PortTaken as fault:
        raise click.ClickException(str(fault)) from None
    url, host = url_of(sock, secure=False), listen.rpartition(":")[0]
    said = f"PRACTICE{'' if drill is None else f', {drill}'}: {url}/practice   (Ctrl-C ends it)"
    port = sock.getsockname()[1]
    daemon = PracticeDaemon(rig, drill)
    asyncio.run(daemon.run(sock, partial(click.echo, said)))
    return daemon.chosen, f"{host}:{port}"
