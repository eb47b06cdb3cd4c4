"""``horn``: horn and strobe tried by hand, pattern by pattern."""

import click

from monitor.commands.asking import address, tell

HEARD = {
    "release": "Two blasts a second for three seconds: let go of the triggers. Nothing else may ever sound like that.",
    "high": "One long blast: somebody look at the page.",
    "medium": "Two short blasts: somebody look at the page when there is time.",
}


@click.command()
@click.argument("rig")
@click.option("--pattern", type=click.Choice([*HEARD]), default="release", show_default=True, help="What is called.")
def horn(rig: str, pattern: str) -> None:
    """Blow the horn and light the strobe of the running daemon for three seconds. Tell everybody first.

    RIG is the rig file, or the daemon's address. An alarm that says stop goes before any test.
    """
    tell(address(rig), "/api/act", {"act": "test-horn", "pattern": pattern, "by": "holdwater horn"})
    click.echo(f"{HEARD[pattern]} Was it heard at the end of every hose, engines running? If not, see the guide.")
