"""The paired devices of a rig, in a small file beside its state file, for the owner of the process only.

The daemon and the command both write it: each takes the lock beside it, reads, changes, and puts the whole in place.
Of a pairing code only a hash is kept.
"""

import copy
import fcntl
import hashlib
import json
import os
import secrets
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from itsdangerous import BadSignature, URLSafeSerializer

from monitor.pages.roles import Role

CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"  # none that is taken for another
CODE_LENGTH = 8
CODE_S = 300.0
MOST_CODES = 8
MOST_DEVICES = 64
SALT = "paired device"


class DevicesUnread(Exception):
    """The file can't be used; the message says why and what to do."""


class Device(NamedTuple):
    """One paired device; `paired_at` in Unix seconds."""

    id: str
    name: str
    role: Role
    paired_at: float


class Devices:
    """``holdwater.db`` has its devices in ``holdwater.devices.json``. `wall` gives Unix seconds."""

    def __init__(self, journal: Path, wall: Callable[[], float] = time.time) -> None:
        self.path = journal.with_suffix(".devices.json")
        self._wall = wall
        self._seen: tuple[int, int] | None = None
        self._known: dict[str, Any] = {}

    def offer(self, role: Role) -> str:
        """A new code for one device, good for five minutes."""
        code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
        with self._changing() as known:
            offered = {"hash": _hash(known, code), "role": role, "until": self._wall() + CODE_S}
            known["codes"] = [*self._good(known)[1 - MOST_CODES :], offered]
        return code

    def pair(self, code: str, name: str) -> tuple[Device, str] | None:
        """The device and its cookie, or None: no such code, used already, or too late. A code is used up by this."""
        with self._changing() as known:
            wanted = _hash(known, _plain(code))
            good = self._good(known)
            found = next((each for each in good if secrets.compare_digest(each["hash"], wanted)), None)
            if found is None:
                return None
            device = Device(secrets.token_hex(6), name.strip()[:60] or "unnamed", found["role"], self._wall())
            known["codes"] = [each for each in good if each is not found]
            known["devices"] = [*known["devices"][1 - MOST_DEVICES :], device._asdict()]
            return device, _signer(known).dumps(device.id)

    def of(self, cookie: str) -> Device | None:
        """Whose cookie it is; None for one that we did not sign or that was revoked."""
        known = self._read()
        if not known:
            return None
        try:
            wanted = _signer(known).loads(cookie)
        except BadSignature:
            return None
        return next((device for device in _devices(known) if device.id == wanted), None)

    def is_paired(self, device: Device) -> bool:
        return device in _devices(self._read())

    def all(self) -> list[Device]:
        return _devices(self._read())

    def revoke(self, of: str) -> list[Device]:
        """Those of that id or name, which are no longer let in."""
        with self._changing() as known:
            gone = [device for device in _devices(known) if of in (device.id, device.name)]
            known["devices"] = [device._asdict() for device in _devices(known) if device not in gone]
        return gone

    def _good(self, known: dict[str, Any]) -> list[dict[str, Any]]:
        """Codes still to be used. A clock that was set back does not make one last longer."""
        now = self._wall()
        return [each for each in known["codes"] if now < each["until"] <= now + CODE_S]

    def _read(self) -> dict[str, Any]:
        """What stands in the file; read anew only when it was changed."""
        try:
            stat = self.path.stat()
            if (stat.st_mtime_ns, stat.st_ino) != self._seen:
                self._known = dict(json.loads(self.path.read_text("utf-8")))
                _devices(self._known), self._known["codes"], self._known["secret"]
                self._seen = stat.st_mtime_ns, stat.st_ino
        except FileNotFoundError:
            self._seen, self._known = None, {}
        except (OSError, KeyError, TypeError, ValueError) as error:
            raise DevicesUnread(
                f"The paired devices can't be read from {self.path}: {error}. Run this as the user the daemon runs as;"
                " if the file is damaged, remove it and pair every device again."
            ) from None
        return self._known

    @contextmanager
    def _changing(self) -> Iterator[dict[str, Any]]:
        """The file's content, to be changed; nobody else changes it meanwhile."""
        with _opened(self.path.with_suffix(".lock")) as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            known = copy.deepcopy(self._read()) or {"secret": secrets.token_hex(32), "codes": [], "devices": []}
            yield known
            if known == self._read():
                return  # a wrong guess costs the card no write
            beside = self.path.with_suffix(".new")
            with _opened(beside) as file:
                os.ftruncate(file, 0)
                os.write(file, json.dumps(known).encode())
                os.fsync(file)
            beside.replace(self.path)


@contextmanager
def _opened(path: Path) -> Iterator[int]:
    """A file that nobody but its user may read."""
    file = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        os.fchmod(file, 0o600)
        yield file
    finally:
        os.close(file)


def _devices(known: dict[str, Any]) -> list[Device]:
    return [Device(**each) for each in known.get("devices", [])]


def _signer(known: dict[str, Any]) -> URLSafeSerializer:
    return URLSafeSerializer(known["secret"], salt=SALT)


def _hash(known: dict[str, Any], code: str) -> str:
    return hashlib.sha256(f"{known['secret']} {code}".encode()).hexdigest()


def _plain(code: str) -> str:
    """As typed by a person: small letters, gaps and hyphens do not matter."""
    return "".join(code.upper().split()).replace("-", "")
