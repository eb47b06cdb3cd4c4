"""``adopt``: calibrations out of the state file, into the rig file."""

import difflib
from pathlib import Path

import click

from monitor.commands.arguments import FILE, learned, loaded
from monitor.rig.faults import RigFaults
from monitor.rig.load import parse


@click.command()
@click.argument("rig", type=FILE)
@click.option("--yes", is_flag=True, help="Write without asking.")
def adopt(rig: Path, yes: bool) -> None:
    """Write the calibrations that are in force into the rig file RIG, comments kept, after showing what changes."""
    from monitor.core.calibrated import in_force
    from monitor.rig.adopting import adopted

    known = loaded(rig)
    calibrations = in_force(known, learned(known).get("calibrations", []))
    if not calibrations:
        click.echo("Nothing to adopt: no calibration is in force that the rig file does not have.")
        return
    before = rig.read_bytes().decode("utf-8")
    try:
        after = adopted(before, calibrations, known.about.units)
        parse(after, rig)
    except (LookupError, RigFaults) as fault:
        raise click.ClickException(f"The rig file would not be sound with these calibrations: {fault}") from None
    names = ("as it is", "with calibrations")
    for line in difflib.unified_diff(before.splitlines(), after.splitlines(), *names, n=2, lineterm=""):
        click.echo(line)
    if not yes and not click.confirm("Write this?"):
        click.echo("Nothing was changed.")
        return
    _write(rig, after)
    click.echo(f"{rig} is written. A running daemon takes it over on: kill -HUP, or its next start.")


def _write(rig: Path, text: str) -> None:
    """Beside, then in place: never half a file, and the owner's permissions stay."""
    beside = rig.with_name(rig.name + ".new")
    try:
        beside.write_bytes(text.encode("utf-8"))
        beside.chmod(rig.stat().st_mode & 0o7777)
        beside.replace(rig)
    except OSError as error:
        raise click.ClickException(f"{error.filename}: {error.strerror}. Nothing was changed.") from None
