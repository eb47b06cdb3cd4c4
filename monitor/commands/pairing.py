"""``pair`` and ``devices``: who is let in to the page, and who no longer."""

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast
from zoneinfo import ZoneInfo

import click

from monitor.commands.arguments import FILE, loaded
from monitor.rig.model import Rig, is_loopback

if TYPE_CHECKING:
    from monitor.pages.devices import Devices


@click.command()
@click.argument("rig", type=FILE)
@click.option("--role", type=click.Choice(["crew", "owner"]), default="crew", show_default=True, help="What it may do.")
@click.option("--at", help="The page's name or address as the device will open it; left out: this machine's name.")
def pair(rig: Path, role: str, at: str | None) -> None:
    """Let one device in to the page of RIG: show a QR code and a short code, good once and for five minutes.

    The crew may look, acknowledge, shelve and note; the owner may do all.
    """
    from monitor.pages.devices import Devices, DevicesUnread
    from monitor.pages.door import best_name

    known = loaded(rig)
    if is_loopback(known.page.host):
        raise click.ClickException(
            f"The page listens on {known.page.host}, where nothing needs pairing and no other device comes."
            ' Set listen = "0.0.0.0:8321" under [page] first.'
        )
    try:
        code = Devices(known.journal.file).offer(cast(Literal["crew", "owner"], role))
    except (DevicesUnread, OSError) as fault:
        raise click.ClickException(f"{fault}. Run this as the user the daemon runs as.") from None
    url = f"https://{at or best_name(known)}:{known.page.port}/pair"
    _draw(f"{url}#{code}")
    click.echo(f"Scan this with the device, or open {url} on it and type  {code[:4]}-{code[4:]}")
    click.echo(f"Good once, for five minutes, for the role {role}.")


def _draw(content: str) -> None:
    import segno

    segno.make_qr(content, error="m").terminal(sys.stdout, compact=True)


@click.command()
@click.argument("rig", type=FILE)
@click.option("--revoke", help="The id or name of a device that is no longer to be let in.")
def devices(rig: Path, revoke: str | None) -> None:
    """List the devices paired with RIG, or shut one out."""
    from monitor.pages.devices import Devices, DevicesUnread

    known = loaded(rig)
    kept = Devices(known.journal.file)
    try:
        if revoke is None:
            click.echo(_listed(kept, known), nl=False)
            return
        gone = kept.revoke(revoke)
    except (DevicesUnread, OSError) as fault:
        raise click.ClickException(f"{fault}. Run this as the user the daemon runs as.") from None
    if not gone:
        raise click.ClickException(f'No device has the id or name "{revoke}". holdwater devices RIG lists them.')
    click.echo("\n".join(f"{device.name} ({device.id}) is no longer let in." for device in gone))


def _listed(kept: "Devices", rig: Rig) -> str:
    zone = ZoneInfo(rig.about.timezone or "UTC")
    lines = [
        f"{each.id}  {each.role:5}  {datetime.fromtimestamp(each.paired_at, zone):%Y-%m-%d %H:%M}  {each.name}\n"
        for each in kept.all()
    ]
    return "".join(lines) or "No device is paired.\n"
