"""What the commands write for the system and the broker is held up to the system's own tools and a real broker."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from brokers import MOSQUITTO, free_port
from daemons import command, holdwater, write_rig
from waiting import until

NOWHERE = 'serial = "/dev/nowhere"'


def test_the_unit_is_sound_and_shut_in(tmp_path: Path) -> None:
    rig = write_rig(tmp_path / "rig.toml", NOWHERE)
    told = command("service", rig, tmp_path / "out", "--user", "daemon")
    assert told.returncode == 0, told.stderr
    unit = tmp_path / "out" / "holdwater.service"
    verified = subprocess.run(["systemd-analyze", "verify", unit], capture_output=True, text=True, check=False)
    assert verified.returncode == 0, verified.stderr
    assert "holdwater.service:" not in verified.stderr, verified.stderr
    judged = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", "--threshold=25", unit], capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert judged.returncode == 0, judged.stdout[-200:]
    assert "Type=notify" in unit.read_text("utf-8")
    assert "WatchdogSec=" in unit.read_text("utf-8")


@pytest.mark.broker
def test_the_broker_lets_each_node_speak_for_itself_only(tmp_path: Path) -> None:
    rig, folder, port = write_rig(tmp_path / "rig.toml", NOWHERE), tmp_path / "broker", free_port()
    told = command("broker", rig, folder, "--into", str(folder), "--port", str(port))
    assert told.returncode == 0, told.stderr
    assert command("broker", rig, folder).returncode == 1, "passwords are not made anew over the old"
    for file in (*folder.glob("*.password"), folder / "passwords", folder / "page.key", folder / "trust.key"):
        assert file.stat().st_mode & 0o077 == 0, file
    tank = (folder / "tank.password").read_text("utf-8").strip()
    assert tank not in (folder / "passwords").read_text("utf-8")
    # the broker takes a user of its own when started as root: it has to read what is the test's
    settings = folder / "holdwater.conf"
    settings.write_text(settings.read_text("utf-8") + "user root\n", "utf-8")
    running = subprocess.Popen([MOSQUITTO, "-c", settings], stderr=subprocess.DEVNULL)
    try:
        heard = tmp_path / "heard"
        until(lambda: _say(folder, port, "tank", tank, "holdwater/tank/alive") == 0, what="the broker answers")
        assert _say(folder, port, "tank", "guessed", "holdwater/tank/alive") != 0
        with heard.open("w") as out:
            ears = [*_as(folder, port, "rig", "mosquitto_sub"), "-v", "-t", "holdwater/#"]
            listening = subprocess.Popen(ears, stdout=out)
            until(lambda: _say(folder, port, "tank", tank, "holdwater/inlet/readings") == 0
                  and _say(folder, port, "tank", tank, "holdwater/tank/readings") == 0
                  and "holdwater/tank/readings" in heard.read_text("utf-8"), what="the rig hears")  # fmt: skip
            listening.kill()
            listening.wait()
        assert "holdwater/inlet/readings" not in heard.read_text("utf-8")
    finally:
        running.kill()
        running.wait()


def _as(folder: Path, port: int, user: str, tool: str, password: str | None = None) -> list[str]:
    password = password or (folder / f"{user}.password").read_text("utf-8").strip()
    tool = shutil.which(tool) or tool
    return [tool, "-h", "localhost", "-p", str(port), "--cafile", str(folder / "trust.crt"), "-u", user, "-P", password]


def _say(folder: Path, port: int, user: str, password: str, topic: str) -> int:
    words = [*_as(folder, port, user, "mosquitto_pub", password), "-q", "1", "-t", topic, "-m", "x"]
    return subprocess.run(words, capture_output=True, check=False, timeout=20).returncode


@pytest.mark.parametrize("listen", ["127.0.0.1:0", "0.0.0.0:0"])
def test_health_for_a_person_and_for_a_script(tmp_path: Path, listen: str) -> None:
    rig = write_rig(tmp_path / "rig.toml", NOWHERE, listen=listen)
    with holdwater(tmp_path, "run", rig) as running:
        port = running.url.rpartition(":")[2]
        rig.write_text(re.sub(r'listen = "(.*):0"', rf'listen = "\1:{port}"', rig.read_text("utf-8")), "utf-8")
        told = command("healthcheck", rig)
        assert told.returncode == 1, told.stderr
        assert "deciding: ok" in told.stdout
        assert "serial 1: FAILS. " in told.stdout
        quiet = command("healthcheck", rig, "--quiet")
        assert (quiet.returncode, quiet.stdout, quiet.stderr) == (1, "", "")
    gone = command("healthcheck", rig)
    assert gone.returncode == 2
    assert "No answer" in gone.stderr


def test_every_command_of_the_guide_is_one_that_there_is() -> None:
    guide = (Path(__file__).parents[2] / "firmware_notes" / "install.md").read_text("utf-8")
    for name in re.findall(r"bin/holdwater ([a-z]+)", guide):
        assert command(name, "--help").returncode == 0, name
