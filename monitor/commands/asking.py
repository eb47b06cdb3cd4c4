"""Asking a running daemon from the same machine: over loopback, or by its socket file where the page is for devices."""

import json
import socket
from http.client import HTTPConnection, HTTPException, HTTPResponse, HTTPSConnection
from pathlib import Path
from typing import Any, TypeAlias
from urllib.parse import urlsplit

import click

from monitor.commands.arguments import loaded
from monitor.pages.here import NAME, call, socket_file
from monitor.rig.model import is_loopback

ANSWER_S = 5.0
Where: TypeAlias = str | Path
"""A daemon's address, or its socket file."""


class Refused(click.ClickException):
    """The daemon said no, and why."""


class _Here(HTTPConnection):
    """HTTP by the socket file."""

    def __init__(self, file: Path) -> None:
        super().__init__(NAME, timeout=ANSWER_S)
        self._file = file

    def connect(self) -> None:
        self.sock = call(self._file, ANSWER_S)


def address(where: str) -> Where:
    """Where the daemon is asked: the address itself where it is one, else by what the rig file of that name says."""
    if where.startswith(("http://", "https://")):
        return where.rstrip("/")
    rig = loaded(Path(where))
    return f"http://{rig.page.listen}" if is_loopback(rig.page.host) else socket_file(rig.journal.file)


def ask(where: Where, path: str) -> Any:
    return _answer(where, "GET", path)


def tell(where: Where, path: str, body: dict[str, Any]) -> None:
    _answer(where, "POST", path, json.dumps(body))


def _answer(where: Where, method: str, path: str, body: str | None = None) -> Any:
    connection = _connection(where)
    try:
        connection.request(method, path, body, {} if body is None else {"content-type": "application/json"})
        answer = connection.getresponse()
        said = answer.read()
    except (HTTPException, OSError) as fault:
        raise click.ClickException(_unanswered(where, fault)) from None
    finally:
        connection.close()
    if answer.status >= 400:
        raise Refused(_why(answer, said))
    return json.loads(said) if said else None


def _connection(where: Where) -> HTTPConnection:
    if isinstance(where, Path):
        return _Here(where)
    parts = urlsplit(where)
    kind = HTTPSConnection if parts.scheme == "https" else HTTPConnection
    return kind(parts.hostname or "", parts.port, timeout=ANSWER_S)


def _unanswered(where: Where, fault: Exception) -> str:
    if isinstance(fault, PermissionError):
        return f"{where} is for the user that the daemon runs as. Say it as that user: sudo -u holdwater …"
    host = where if isinstance(where, Path) else urlsplit(where).netloc
    reason = "it took too long" if isinstance(fault, socket.timeout) else fault
    return f"No daemon answers at {host}: {reason}. Start it: holdwater run RIG."


def _why(refusal: HTTPResponse, said: bytes) -> str:
    try:
        told = json.loads(said)
        return f"{told['error']} {told['do']}"
    except (ValueError, LookupError, TypeError):
        return f"The daemon answered {refusal.status}."
