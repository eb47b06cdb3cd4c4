"""``healthcheck``: whether a running daemon is well, for a person to read and for a script to ask."""

import json
import ssl
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import click

from monitor.commands.arguments import loaded
from monitor.rig.model import Rig, is_loopback

WITHIN_S = 5.0
FAILING, UNREACHED = 1, 2


@click.command()
@click.argument("where", metavar="RIG|URL", default="http://127.0.0.1:8321")
@click.option("--quiet", is_flag=True, help="Say nothing; only the exit code tells.")
def healthcheck(where: str, quiet: bool) -> None:
    """Ask the daemon of RIG, or at URL, how it is. Ends with 0: all well; 1: a part fails; 2: no answer."""
    url, trust = (where, None) if "://" in where else _of_rig(loaded(Path(where)))
    try:
        told = _asked(f"{url.rstrip('/')}/healthz", trust)
    except (OSError, ValueError) as error:
        reason = getattr(error, "reason", error)
        if isinstance(error, FileNotFoundError):
            reason = "there is no certificate yet, so no daemon has run with this rig file"
        elif isinstance(error, PermissionError):
            reason = "its certificate is for the daemon's user: sudo -u holdwater …"
        if not quiet:
            click.echo(f"No answer from {url}: {reason}. Look at: systemctl status holdwater", err=True)
        raise click.exceptions.Exit(UNREACHED) from None
    if not quiet:
        for name, part in told["parts"].items():
            click.echo(f"{name}: ok" if part["ok"] else f"{name}: FAILS. {part['why']} {part['do']}")
    raise click.exceptions.Exit(0 if told["ok"] else FAILING)


def _of_rig(rig: Rig) -> tuple[str, Path | None]:
    """Where this machine asks the rig's daemon, and what it trusts there."""
    host, port = rig.page.host, rig.page.port
    if is_loopback(host):
        return f"http://{f'[{host}]' if ':' in host else host}:{port}", None
    trust = rig.page.certificate or rig.journal.file.with_suffix(".certificate") / "trust.crt"
    host = {"0.0.0.0": "127.0.0.1", "::": "127.0.0.1"}.get(host, host)
    return f"https://{f'[{host}]' if ':' in host else host}:{port}", trust


def _asked(url: str, trust: Path | None) -> dict[str, Any]:
    """Raises OSError where nobody answers, ValueError where the answer is none of ours."""
    how = ssl.create_default_context(cafile=None if trust is None else str(trust))
    ways = urllib.request.ProxyHandler({}), urllib.request.HTTPSHandler(context=how)
    try:
        with urllib.request.build_opener(*ways).open(url, timeout=WITHIN_S) as answer:
            said = answer.read()
    except urllib.error.HTTPError as failing:
        said = failing.read()
    told = json.loads(said)
    if not isinstance(told, dict) or "parts" not in told:
        raise ValueError("it answers, but not as Holdwater does")
    return told
