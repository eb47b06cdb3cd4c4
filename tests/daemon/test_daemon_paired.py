"""A daemon that others can reach: HTTPS with a certificate of its own, pairing by the command, revocation."""

import contextlib
import json
import re
import ssl
import threading
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from daemons import Holdwater, command, holdwater, write_rig
from waiting import until

from monitor.pages.certificate import addresses

SERIAL = 'serial = "/dev/nowhere"'


class Reachable:
    """The daemon under an address that is not loopback, where the machine has one, and trusted by its certificate."""

    def __init__(self, folder: Path, daemon: Holdwater) -> None:
        self.rig, self.daemon = folder / "rig.toml", daemon
        host = next((found for found in sorted(addresses("0.0.0.0")) if not found.startswith("127.")), "127.0.0.1")
        self.url = f"https://{host}:{daemon.url.rpartition(':')[2]}"
        self.trust = ssl.create_default_context(cafile=str(folder / "holdwater.certificate" / "trust.crt"))

    def client(self) -> httpx.Client:
        return httpx.Client(base_url=self.url, verify=self.trust, timeout=20.0)

    def code(self, role: str) -> str:
        shown = command("pair", self.rig, "--role", role)
        assert shown.returncode == 0, shown.stderr
        return re.search(r"[0-9A-Z]{4}-[0-9A-Z]{4}", shown.stdout).group()

    def paired(self, role: str, name: str) -> httpx.Client:
        client = self.client()
        assert client.post("/pair", json={"code": self.code(role), "name": name}).status_code == 204
        return client


@pytest.fixture(scope="module")
def reachable(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reachable]:
    folder = tmp_path_factory.mktemp("reachable")
    rig = write_rig(folder / "rig.toml", SERIAL, listen="0.0.0.0:0")
    with holdwater(folder, "run", rig) as daemon:
        assert daemon.url.startswith("https://")
        yield Reachable(folder, daemon)


def test_only_health_is_for_everybody(reachable: Reachable) -> None:
    with reachable.client() as client:
        assert client.get("/healthz").status_code == 503
        assert client.get("/api/state").status_code == 401
        assert client.get("/pair").status_code == 200
        policy = client.get("/pair").headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "unsafe" not in policy


def test_nothing_is_told_without_https(reachable: Reachable) -> None:
    with pytest.raises(httpx.HTTPError):
        httpx.get(reachable.url.replace("https", "http") + "/healthz", timeout=20.0)


def test_the_certificate_is_for_this_address_and_no_browser_finds_it_too_long(reachable: Reachable) -> None:
    folder = reachable.rig.parent / "holdwater.certificate"
    names = json.loads((folder / "names.json").read_text("utf-8"))
    assert httpx.URL(reachable.url).host in names
    for key in ("trust.key", "page.key"):
        assert (folder / key).stat().st_mode & 0o077 == 0, key
    with reachable.client() as client:
        assert client.get("/pair/trust.crt").content == (folder / "trust.crt").read_bytes()


def test_a_code_pairs_one_device_and_then_no_other(reachable: Reachable) -> None:
    code = reachable.code("crew")
    with reachable.client() as first, reachable.client() as second:
        assert first.post("/pair", json={"code": code, "name": "Tablet"}).status_code == 204
        assert second.post("/pair", json={"code": code, "name": "Thief"}).status_code == 403
        assert first.get("/api/state").status_code == 200
        assert second.get("/api/state").status_code == 401
        assert first.get("/api/bench").status_code == 403


def test_a_stream_ends_when_its_device_is_shut_out(reachable: Reachable) -> None:
    ended = threading.Event()
    with contextlib.closing(reachable.paired("crew", "Lost tablet")) as client:
        with client.stream("GET", "/api/live") as stream:
            chunks = stream.iter_raw()
            assert b"data:" in next(chunks)
            said = command("devices", reachable.rig, "--revoke", "Lost tablet")
            assert "no longer let in" in said.stdout

            def listen() -> None:
                for _ in chunks:
                    pass
                ended.set()

            threading.Thread(target=listen, daemon=True).start()
            until(ended.is_set, 10.0, "the stream ends")
        assert client.get("/api/state").status_code == 401
    assert "Lost tablet" not in command("devices", reachable.rig).stdout
    assert "Traceback" not in reachable.daemon.said()


def test_on_loopback_there_is_nothing_to_pair(tmp_path: Path) -> None:
    refused = command("pair", write_rig(tmp_path / "rig.toml", SERIAL))
    assert refused.returncode == 1
    assert "nothing needs pairing" in refused.stderr
    assert command("devices", tmp_path / "rig.toml").stdout == "No device is paired.\n"
    gone = command("devices", tmp_path / "rig.toml", "--revoke", "nobody")
    assert "No device has the id or name" in gone.stderr


def test_a_demo_is_for_this_machine_only() -> None:
    refused = command("demo", "--listen", "0.0.0.0:0")
    assert refused.returncode == 1
    assert "this machine only" in refused.stderr


def test_a_certificate_that_is_not_there(tmp_path: Path) -> None:
    rig = write_rig(tmp_path / "rig.toml", SERIAL, listen="0.0.0.0:0", more='certificate = "a.pem"\nkey = "b.pem"')
    refused = command("run", rig)
    assert refused.returncode == 1
    assert "a.pem is not there" in refused.stderr


def test_the_rigs_own_computer_asks_by_a_file_that_is_the_daemons_users_alone(reachable: Reachable) -> None:
    door = reachable.rig.parent / "holdwater.sock"
    assert door.stat().st_mode & 0o077 == 0
    said = command("watch", reachable.rig, "--once")
    assert said.returncode == 0, said.stderr
    assert "tank/level" in said.stdout
    assert "nothing is calibrated yet" in command("calibrate", reachable.rig).stdout
    assert "running: bucket" in command("calibrate", reachable.rig, "bucket", "begin").stdout
    assert command("calibrate", reachable.rig, "bucket", "drop").returncode == 0


def test_the_file_goes_with_the_daemon_and_one_left_by_a_kill_is_no_hindrance(tmp_path: Path) -> None:
    """The folder's name is longer than an address of a socket may be."""
    folder = tmp_path / ("long " * 20).strip()
    folder.mkdir()
    rig, door = write_rig(folder / "rig.toml", SERIAL, listen="0.0.0.0:0"), folder / "holdwater.sock"
    with holdwater(folder, "run", rig):
        until(door.exists)
    assert door.exists(), "a killed daemon takes nothing away"
    gone = command("watch", rig, "--once")
    assert gone.returncode == 1
    assert "No daemon answers" in gone.stderr
    with holdwater(folder, "run", rig) as again:
        until(lambda: command("watch", rig, "--once").returncode == 0, 20.0, "it answers again")
        again.stop()
    assert not door.exists()
