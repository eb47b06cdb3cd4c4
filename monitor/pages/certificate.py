"""The certificate of a page that others can reach: given in the rig file, or made here with ``openssl``.

Made here, there are two: one of the rig's own, which a tablet can be told to trust, and the page's, signed by it.
Browsers take none that is good for longer than 825 days, so the page's is made anew in time, at a start of the daemon,
and whenever the machine's names or addresses have changed; what the tablet trusts stays.
"""

import contextlib
import fcntl
import json
import socket
import struct
import subprocess
import tempfile
import time
from ipaddress import ip_address
from pathlib import Path
from typing import NamedTuple

from monitor.rig.model import Rig

DAYS, OWN_DAYS, RENEWED_DAYS = 800, 7300, 60
SIOCGIFADDR = 0x8915
EXTENSIONS = """[page]
basicConstraints = critical, CA:FALSE
keyUsage = critical, digitalSignature
extendedKeyUsage = serverAuth
subjectAltName = {names}
"""


class CertificateFault(Exception):
    """There is none to serve the page with; the message says why and what to do."""


class Certificate(NamedTuple):
    """`trust` is what a tablet may be told to trust; None where the certificate was given."""

    chain: Path
    key: Path
    trust: Path | None


def certificate_of(rig: Rig, names: frozenset[str]) -> Certificate:
    """Raises CertificateFault."""
    if rig.page.certificate is not None and rig.page.key is not None:
        for file in (rig.page.certificate, rig.page.key):
            if not file.is_file():
                raise CertificateFault(f"{file} is not there. Set [page] certificate and key, or leave both out.")
        return Certificate(rig.page.certificate, rig.page.key, None)
    folder = rig.journal.file.with_suffix(".certificate")
    try:
        return own(folder, rig.about.name, sorted(names | addresses(rig.page.host)))
    except FileNotFoundError:
        raise CertificateFault("The page needs a certificate, and openssl is not there. Install openssl.") from None
    except subprocess.CalledProcessError as error:
        raise CertificateFault(f"openssl made no certificate: {error.stderr.strip()[-300:]}") from None
    except OSError as error:
        raise CertificateFault(f"{folder}: {error.strerror}. Make it writable for the daemon's user.") from None


def own(folder: Path, rig: str, names: list[str]) -> Certificate:
    """Made in that folder where it is not there yet. Raises OSError and CalledProcessError."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    made = Certificate(folder / "page.crt", folder / "page.key", folder / "trust.crt")
    if not (folder / "trust.crt").exists():
        _make_trust(folder, rig)
    if not _is_good(folder, names):
        _make_page(folder, names)
        (folder / "names.json").write_text(json.dumps(names), "utf-8")
    return made


def _is_good(folder: Path, names: list[str]) -> bool:
    """It is made for those names, and neither about to end nor made by a clock that was wrong."""
    with contextlib.suppress(OSError, ValueError):
        age_s = time.time() - (folder / "page.crt").stat().st_mtime
        made_for = json.loads((folder / "names.json").read_text("utf-8"))
        return made_for == names and 0 <= age_s < (DAYS - RENEWED_DAYS) * 86400
    return False


def _make_trust(folder: Path, rig: str) -> None:
    plain = "".join(each if each.isalnum() or each in " -" else " " for each in rig)[:40]
    _openssl(
        "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", str(OWN_DAYS),
        "-subj", f"/CN=Holdwater {plain}", "-addext", "keyUsage=critical,keyCertSign",
        "-keyout", str(folder / "trust.key"), "-out", str(folder / "trust.crt"),
    )  # fmt: skip


def _make_page(folder: Path, names: list[str]) -> None:
    key, asked, signed = folder / "page.key", folder / "page.csr", folder / "page.new"
    _openssl(
        "req", "-new", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-subj", "/CN=Holdwater page",
        "-keyout", str(key), "-out", str(asked),
    )  # fmt: skip
    with tempfile.NamedTemporaryFile("w", suffix=".cnf") as extensions:
        extensions.write(EXTENSIONS.format(names=",".join(_alternative(name) for name in names)))
        extensions.flush()
        _openssl(
            "x509", "-req", "-in", str(asked), "-CA", str(folder / "trust.crt"), "-CAkey", str(folder / "trust.key"),
            "-CAcreateserial", "-days", str(DAYS), "-extfile", extensions.name, "-extensions", "page",
            "-out", str(signed),
        )  # fmt: skip
    with signed.open("a", encoding="utf-8") as chain:
        chain.write((folder / "trust.crt").read_text("utf-8"))
    signed.replace(folder / "page.crt")


def _openssl(*words: str) -> None:
    subprocess.run(["openssl", *words], check=True, capture_output=True, text=True, timeout=60, umask=0o077)


def _alternative(name: str) -> str:
    try:
        return f"IP:{ip_address(name)}"
    except ValueError:
        return f"DNS:{name}"


def addresses(host: str) -> set[str]:
    """The address itself, or all of this machine's IPv4 addresses where it listens on every one."""
    try:
        if not ip_address(host).is_unspecified:
            return {host}
    except ValueError:
        return {host}
    found = set()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sock:
        for _, name in socket.if_nameindex():
            with contextlib.suppress(OSError):
                answer = fcntl.ioctl(sock, SIOCGIFADDR, struct.pack("256s", name.encode()[:15]))
                found.add(socket.inet_ntoa(answer[20:24]))
    return found
