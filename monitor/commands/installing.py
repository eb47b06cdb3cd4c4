"""``service`` and ``broker``: the files that the system and the broker need, written into a folder to be looked at."""

import secrets
import shutil
import ssl
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click

from monitor.commands import service_files
from monitor.commands.arguments import FILE, loaded
from monitor.rig.feed_tables import MqttFeed
from monitor.rig.model import Rig

FOLDER = click.Path(file_okay=False, path_type=Path)


@click.command()
@click.argument("rig", type=FILE)
@click.argument("folder", type=FOLDER)
@click.option("--user", default="holdwater", show_default=True, help="The user the daemon is to run as.")
def service(rig: Path, folder: Path, user: str) -> None:
    """Write a systemd unit and a udev rule for RIG into FOLDER, and say where they go."""
    known = loaded(rig)
    command = Path(sys.executable).with_name("holdwater")
    home = known.journal.file.parent.resolve()
    unit = service_files.UNIT.format(command=command, rig=rig.resolve(), user=user, home=home)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "holdwater.service").write_text(unit, "utf-8")
    (folder / "60-holdwater.rules").write_text(service_files.UDEV, "utf-8")
    click.echo(
        f"sudo cp {folder}/holdwater.service /etc/systemd/system/\n"
        f"sudo cp {folder}/60-holdwater.rules /etc/udev/rules.d/\n"
        "sudo udevadm control --reload && sudo udevadm trigger\n"
        "sudo systemctl daemon-reload && sudo systemctl enable --now holdwater"
    )


@click.command()
@click.argument("rig", type=FILE)
@click.argument("folder", type=FOLDER)
@click.option("--into", default="/etc/mosquitto/holdwater", show_default=True, help="Where the files will lie.")
@click.option("--port", default=8883, show_default=True, type=click.IntRange(1, 65535), help="The broker's port.")
@click.option("--name", "names", multiple=True, help="A name or address nodes reach the broker by, besides this one's.")
def broker(rig: Path, folder: Path, into: str, port: int, names: tuple[str, ...]) -> None:
    """Write mosquitto's settings for RIG into FOLDER: TLS, a password and an ACL for each node; say what to do."""
    from monitor.pages.certificate import addresses, own
    from monitor.pages.door import names_of

    known = loaded(rig)
    if shutil.which("mosquitto_passwd") is None:
        raise click.ClickException("mosquitto_passwd is not there. Install mosquitto:  sudo apt-get install mosquitto")
    if (folder / "passwords").exists():
        raise click.ClickException(f"{folder} holds passwords already. Name another folder, or remove it first.")
    nodes = nodes_of(known)
    try:
        own(folder, f"{known.about.name} broker", sorted({*names_of(known), *addresses("0.0.0.0"), *names}))
        trust = (folder / "trust.crt").read_text("ascii")
        (folder / "trust.der").write_bytes(ssl.PEM_cert_to_DER_cert(trust))
        _write_users(folder, nodes)
    except subprocess.CalledProcessError as error:
        raise click.ClickException(f"{error.cmd[0]} failed: {error.stderr.strip()[-300:]}") from None
    except OSError as error:
        raise click.ClickException(f"{error.filename}: {error.strerror}. Check the folder and the disk.") from None
    (folder / "holdwater.conf").write_text(service_files.BROKER.format(port=port, folder=into), "utf-8")
    own_acl = service_files.ACL_OF_RIG + "".join(_more(known))
    acl = [own_acl, *(service_files.ACL_OF_NODE.format(node=node) for node in nodes)]
    (folder / "acl").write_text("\n".join(acl), "utf-8")
    click.echo(_told(folder, into, port, nodes))


def nodes_of(rig: Rig) -> list[str]:
    """The nodes that the rig file's readings come from."""
    from monitor.core import Core

    return sorted(Core(rig).intake.nodes)


def _more(rig: Rig) -> Iterator[str]:
    """What the rig's own user needs beyond the usual: topics of mapped feeds to read, of horn and strobe to switch."""
    for feed in rig.feeds:
        if isinstance(feed, MqttFeed):
            yield from (f"topic read {topic}\n" for topic in feed.topics if not topic.startswith("holdwater/"))
    yield from (f"topic write {output.topic}\n" for _, output in rig.notices.outputs if output.topic)


def _write_users(folder: Path, nodes: list[str]) -> None:
    """Passwords twice: hashed for the broker, and in a file of its own for each user to be taken to its node."""
    lines = []
    for user in ("rig", *nodes):
        secret = secrets.token_urlsafe(18)
        own_file = folder / f"{user}.password"
        own_file.touch(0o600)
        own_file.write_text(f"{secret}\n", "utf-8")
        lines.append(f"{user}:{secret}\n")
    (folder / "passwords").touch(0o600)
    (folder / "passwords").write_text("".join(lines), "utf-8")
    subprocess.run(["mosquitto_passwd", "-U", str(folder / "passwords")], check=True, capture_output=True, text=True)


def _told(folder: Path, into: str, port: int, nodes: list[str]) -> str:
    return f"""\
Nodes: {", ".join(nodes) or "none"}. Each password is in {folder}/NODE.password: put it on the node, then remove the file.
sudo mkdir -p {into}
sudo cp {folder}/page.crt {folder}/page.key {folder}/passwords {folder}/acl {into}/
sudo chown -R mosquitto: {into} && sudo chmod 600 {into}/*
sudo cp {folder}/holdwater.conf /etc/mosquitto/conf.d/ && sudo systemctl restart mosquitto
In the rig file: mqtt = "mqtts://localhost:{port}", username = "rig", password_file = "{folder}/rig.password", ca = "{folder}/trust.crt"
Nodes trust {folder}/trust.crt; the reference nodes take it as {folder}/trust.der."""  # noqa: E501
