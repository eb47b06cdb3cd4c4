"""The door for whoever sits at the rig's own computer: a socket file beside the journal, for the daemon's user only.

Who may open it may read and change the daemon's files as well, and so is the owner without pairing. It is there only
where the page listens on an address that others reach.
"""

import contextlib
import os
import socket
from collections.abc import Iterator
from pathlib import Path

QUEUE = 8
NAME = "localhost"
"""The host that a request through the file names."""


def socket_file(journal: Path) -> Path:
    """``holdwater.db`` has its own computer's door in ``holdwater.sock``."""
    return journal.with_suffix(".sock")


def call(file: Path, within_s: float) -> socket.socket:
    """A connection to the daemon. Raises OSError."""
    sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    sock.settimeout(within_s)
    try:
        with _address(file) as address:
            sock.connect(address)
    except OSError:
        sock.close()
        raise
    return sock


@contextlib.contextmanager
def listening(file: Path) -> Iterator[socket.socket]:
    """Raises OSError. The journal is ours by now: a file that stands there is left from a daemon that was killed."""
    file.unlink(missing_ok=True)
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as sock:
        before = os.umask(0o177)
        try:
            with _address(file) as address:
                sock.bind(address)
        finally:
            os.umask(before)
        sock.listen(QUEUE)
        try:
            yield sock
        finally:
            file.unlink(missing_ok=True)


@contextlib.contextmanager
def _address(file: Path) -> Iterator[str]:
    """An address has room for 107 bytes (unix(7)); by way of its open folder any path fits."""
    folder = os.open(file.parent, os.O_PATH | os.O_DIRECTORY)
    try:
        yield f"/proc/self/fd/{folder}/{file.name}"
    finally:
        os.close(folder)
