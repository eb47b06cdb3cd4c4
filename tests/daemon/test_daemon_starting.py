"""What keeps the daemon from starting is said in a sentence, all of it at once, and the exit code is not 0."""

import socket
from pathlib import Path

from daemons import command, holdwater, write_rig
from waiting import until

NOWHERE = 'serial = "/dev/no-such-port"'


def refused(rig: Path) -> str:
    ended = command("run", rig)
    assert ended.returncode != 0
    assert "Traceback" not in ended.stderr
    return ended.stderr


def test_a_port_in_use(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        said = refused(write_rig(tmp_path / "rig.toml", NOWHERE, listen=f"127.0.0.1:{port}"))
    assert f"127.0.0.1:{port}" in said
    assert "[page] listen" in said


def test_a_second_daemon_on_one_journal(tmp_path: Path) -> None:
    rig = write_rig(tmp_path / "rig.toml", NOWHERE)
    with holdwater(tmp_path, "run", rig) as first:
        said = refused(rig)
        assert "holdwater.db" in said
        assert f"process {first.process.pid}" in said
        assert first.state()
        assert first.stop() == 0
    with holdwater(tmp_path, "run", rig) as next_one:
        assert next_one.state()


def test_every_fault_of_a_rig_file_at_once(tmp_path: Path) -> None:
    rig = write_rig(tmp_path / "rig.toml", NOWHERE, heel="400 gal")
    text = rig.read_text("utf-8").replace('draw = "6 gpm"', 'draw = "7 gal"\ncolour = "red"')
    rig.write_text(text.replace('listen = "127.0.0.1:0"', 'listen = "0.0.0.0:port"'), "utf-8")
    said = refused(rig)
    for found in ("heel", "draw", '"7 gal"', "colour", "0.0.0.0:port"):
        assert found in said
    assert said.count("expected") >= 4


def test_an_address_has_to_be_one(tmp_path: Path) -> None:
    said = refused(write_rig(tmp_path / "rig.toml", NOWHERE, listen="example.org:80"))
    assert "example.org:80" in said
    assert "no address" in said


def test_no_feed(tmp_path: Path) -> None:
    assert "[[feed]]" in refused(write_rig(tmp_path / "rig.toml", ""))


def test_no_rig_file(tmp_path: Path) -> None:
    assert "missing.toml" in refused(tmp_path / "missing.toml")


def test_a_serial_port_that_is_not_there_is_waited_for(tmp_path: Path) -> None:
    with holdwater(tmp_path, "run", write_rig(tmp_path / "rig.toml", NOWHERE)) as running:
        part = until(lambda: next(p for n, p in running.health()[1].items() if n == "serial 1" and not p["ok"]))
        assert "/dev/no-such-port" in part["why"]
        assert running.state()["forecast"]["volume_l"] is None
        assert running.state()["advice"] == {"say": "unknown", "with": {}}
