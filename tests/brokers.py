"""A real mosquitto as a child process on a free port of this machine, to be killed and brought back as a test likes."""

import os
import shutil
import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from waiting import until

MOSQUITTO = shutil.which("mosquitto") or "/usr/sbin/mosquitto"
PUBLISH = shutil.which("mosquitto_pub") or "mosquitto_pub"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Mosquitto:
    """`user` is a name and a password that clients must have; `tls` is a folder made by `certificates`."""

    def __init__(self, folder: Path, user: tuple[str, str] | None = None, tls: Path | None = None) -> None:
        self.folder = folder
        self.port = free_port()
        self.tls = tls
        self._process: subprocess.Popen | None = None
        self._user = user
        self._config = folder / "mosquitto.conf"
        self._config.write_text("\n".join(self._settings()) + "\n")
        self.start()

    @property
    def url(self) -> str:
        return f"{'mqtts' if self.tls else 'mqtt'}://localhost:{self.port}"

    def start(self) -> None:
        self._process = subprocess.Popen([MOSQUITTO, "-c", self._config], stderr=subprocess.DEVNULL)
        until(self._answers, what="mosquitto answers")

    def kill(self) -> None:
        self._process.kill()
        self._process.wait()

    def publish(self, topic: str, payload: bytes | str, *more: str) -> None:
        """Through mosquitto_pub, a client nobody here wrote."""
        said = payload.encode() if isinstance(payload, str) else payload
        how = "-s" if said else "-n"
        subprocess.run([*self.publisher(topic), how, *more], input=said, check=True, timeout=20)

    def publisher(self, topic: str) -> list[str]:
        who = ["-u", self._user[0], "-P", self._user[1]] if self._user else []
        ca = ["--cafile", str(self.tls / "ca.crt")] if self.tls else []
        return [PUBLISH, "-h", "localhost", "-p", str(self.port), *who, *ca, "-q", "1", "-t", topic]

    def _settings(self) -> Iterator[str]:
        yield f"listener {self.port} 127.0.0.1"
        yield "set_tcp_nodelay true"
        yield "max_queued_messages 10000"
        if os.geteuid() == 0:  # else it would give up the right to read its own files here
            yield "user root"
        yield f"allow_anonymous {'false' if self._user else 'true'}"
        if self._user:
            yield f"password_file {self._passwords()}"
        if self.tls:
            yield f"cafile {self.tls / 'ca.crt'}"
            yield f"certfile {self.tls / 'broker.crt'}"
            yield f"keyfile {self.tls / 'broker.key'}"

    def _passwords(self) -> Path:
        file = self.folder / "passwords"
        file.touch(mode=0o600)
        subprocess.run(["mosquitto_passwd", "-b", file, *self._user], check=True, capture_output=True)
        return file

    def _answers(self) -> bool:
        assert self._process.poll() is None, "mosquitto ended at once"
        try:
            socket.create_connection(("127.0.0.1", self.port), 1).close()
        except OSError:
            return False
        return True


@contextmanager
def mosquitto(folder: Path, **settings) -> Iterator[Mosquitto]:
    broker = Mosquitto(folder, **settings)
    try:
        yield broker
    finally:
        broker.kill()


def certificates(folder: Path) -> Path:
    """An authority of our own, and a certificate for localhost by it: ca.crt, broker.crt, broker.key."""

    def openssl(*arguments: str) -> None:
        subprocess.run(["openssl", *arguments], cwd=folder, check=True, capture_output=True, timeout=60)

    new_key = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes"]
    openssl("req", "-x509", *new_key, "-keyout", "ca.key", "-out", "ca.crt", "-days", "2", "-subj", "/CN=tests")
    openssl("req", *new_key, "-keyout", "broker.key", "-out", "broker.csr", "-subj", "/CN=localhost")
    (folder / "names").write_text("subjectAltName=DNS:localhost\n")
    signing = ["-CA", "ca.crt", "-CAkey", "ca.key", "-CAcreateserial", "-days", "2", "-extfile", "names"]
    openssl("x509", "-req", "-in", "broker.csr", *signing, "-out", "broker.crt")
    return folder
