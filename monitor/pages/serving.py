"""The HTTP server: its socket, and its life inside the daemon's own event loop."""

import asyncio
import contextlib
import logging
import os
import socket
from collections.abc import Iterator
from typing import Any

import uvicorn
from uvicorn.config import Config

from monitor.pages.certificate import Certificate
from monitor.pages.door import Door
from monitor.pages.guard import Guard
from monitor.pages.here import listening, socket_file
from monitor.pages.nearby import Nearby
from monitor.pages.patience import Patient
from monitor.rig.model import Rig

log = logging.getLogger("holdwater")

QUEUE = 64
OPEN_AT_ONCE = 200


class PortTaken(Exception):
    """The page can't be served there; the message says why, and what to do."""


def listen(host: str, port: int) -> socket.socket:
    """The page's socket, opened by ourselves, so that a port in use is a sentence. Raises PortTaken.

    It listens at once: bound only, two daemons could both have it, and whoever calls before it is served would be
    turned away instead of waiting.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # asyncio sets TCP_NODELAY only where it reads TCP here; without it a push waits for an acknowledgement
    sock = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((host, port))
        sock.listen(QUEUE)
    except OSError as error:
        sock.close()
        raise PortTaken(
            f"The page can't be served on {host}:{port}: {os.strerror(error.errno or 0)}. If another program (perhaps"
            f" another Holdwater) has it, stop that one, or set another port under [page] listen."
        ) from None
    return sock


def url_of(sock: socket.socket, secure: bool = False) -> str:
    host, port = sock.getsockname()[:2]
    at = f"[{host}]" if ":" in host else host
    return f"http{'s' if secure else ''}://{at}:{port}"


async def serve(app: Any, sock: socket.socket, stop: asyncio.Event, certificate: Certificate | None = None) -> None:
    """Until `stop` is set; streams that are still open then have a second to end. With a certificate: HTTPS."""
    config = Config(
        app, log_level="warning", lifespan="off", access_log=False, timeout_graceful_shutdown=1,
        http=Patient, limit_concurrency=OPEN_AT_ONCE, server_header=False,
        ssl_certfile=certificate and certificate.chain, ssl_keyfile=certificate and certificate.key,
    )  # fmt: skip
    server = _Server(config)
    serving = asyncio.create_task(server.serve(sockets=[sock]))
    await stop.wait()
    server.should_exit = True
    await serving


async def serve_devices(guarded: Guard, sock: socket.socket, stop: asyncio.Event, door: Door, rig: Rig) -> None:
    """The page for paired devices under its name, and the same by the socket file for its owner, until `stop`."""
    doors, file = [serve(guarded, sock, stop, door.certificate)], socket_file(rig.journal.file)
    with contextlib.ExitStack() as open_doors:
        nearby = Nearby(rig, sock.getsockname()[1])
        nearby.start()
        open_doors.callback(nearby.close)
        try:
            here = open_doors.enter_context(listening(file))
            doors.append(serve(Guard(guarded.app), here, stop))
        except OSError as error:
            log.warning("Commands here can't ask the daemon, %s: %s. The page is served.", file, error.strerror)
        await asyncio.gather(*doors)


class _Server(uvicorn.Server):
    """Leaves the signals to the daemon."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield
