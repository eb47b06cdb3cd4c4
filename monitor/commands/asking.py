"""Asking a running daemon over its own door, from the same machine."""

import json
from pathlib import Path
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.request import ProxyHandler, Request, build_opener

import click

from monitor.commands.arguments import loaded

ANSWER_S = 5.0
_open = build_opener(ProxyHandler({})).open


class Refused(click.ClickException):
    """The daemon said no, and why."""


def address(where: str) -> str:
    """The daemon's address: itself where it is one, else what the rig file of that name says."""
    if where.startswith(("http://", "https://")):
        return where.rstrip("/")
    return f"http://{loaded(Path(where)).page.listen}"


def ask(url: str, path: str) -> Any:
    return _answer(Request(url + path))


def tell(url: str, path: str, body: dict[str, Any]) -> None:
    _answer(Request(url + path, json.dumps(body).encode(), {"content-type": "application/json"}))


def _answer(request: Request) -> Any:
    try:
        with _open(request, timeout=ANSWER_S) as answer:
            said = answer.read()
    except HTTPError as refusal:
        raise Refused(_why(refusal)) from None
    except (URLError, OSError) as fault:
        reason = getattr(fault, "reason", fault)
        host = request.host
        raise click.ClickException(f"No daemon answers at {host}: {reason}. Start it: holdwater run RIG.") from None
    return json.loads(said) if said else None


def _why(refusal: HTTPError) -> str:
    try:
        said = json.loads(refusal.read())
        return f"{said['error']} {said['do']}"
    except (ValueError, LookupError):
        return f"The daemon answered {refusal.code}."
