"""A newer version and back: what it changed is kept as it was, and the older one runs on that again.

The newer version is this program with one more step in the journal's form and in the state file's.
"""

import os
import shutil
from pathlib import Path

import pytest
from daemons import Holdwater, command, holdwater, write_rig
from ports import Port
from waiting import until

HOME = Path(__file__).parents[2]
LEVEL = b'[{"bn":"tank/","n":"level","u":"m","v":0.5}]\n'
NEWER_JOURNAL = """

@migrations()
def weather(db: Database) -> None:
    db["weather"].create({"at_us": int})
"""
NEWER_STATE = """
FORWARD[1] = lambda saved: {**saved, "version": 2}
"""


@pytest.fixture(scope="module")
def newer(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What makes the command run the version of tomorrow."""
    folder = tmp_path_factory.mktemp("newer")
    for room in ("monitor", "dashboards", "simulated_feeds"):
        shutil.copytree(HOME / room, folder / room, ignore=shutil.ignore_patterns("__pycache__"))
    with (folder / "monitor/journal/schema.py").open("a") as schema:
        schema.write(NEWER_JOURNAL)
    with (folder / "monitor/state_file.py").open("a") as state:
        state.write(NEWER_STATE)
    core = folder / "monitor/core/core.py"
    core.write_text(core.read_text("utf-8").replace("SAVED_AS = 1", "SAVED_AS = 2"), "utf-8")
    return {**os.environ, "PYTHONPATH": str(folder)}


def lives(folder: Path, rig: Path, port: Port, env: dict[str, str] | None = None) -> None:
    """Started, heard, stopped in good order."""
    with holdwater(folder, "run", rig, env=env) as daemon:
        until(lambda: (port.send(LEVEL), daemon.volume_l())[1], 20.0, "a volume")
        assert journal_of(daemon)["ok"], journal_of(daemon)
        assert daemon.stop() == 0


def journal_of(daemon: Holdwater) -> dict:
    return daemon.state()["journal"]


def test_a_newer_version_and_back_to_the_one_before(tmp_path: Path, port: Port, newer: dict[str, str]) -> None:
    rig = write_rig(tmp_path / "rig.toml", f'serial = "{port.name}"')
    lives(tmp_path, rig, port)
    lives(tmp_path, rig, port, newer)
    state, kept_state = tmp_path / "holdwater.state.json", tmp_path / "holdwater.state.before-2.json"
    journal, (kept_journal,) = tmp_path / "holdwater.db", tmp_path.glob("holdwater.before-*.db")
    written = state.read_bytes()

    for refused in (command("run", rig), command("adopt", rig)):
        assert refused.returncode == 1
        assert "written by a newer version of this program. Install that one again" in refused.stderr
        assert "Traceback" not in refused.stderr
    assert state.read_bytes() == written

    kept_state.replace(state)
    with holdwater(tmp_path, "run", rig) as daemon:
        until(lambda: not journal_of(daemon)["ok"], 20.0, "the journal is refused, and the watch goes on")
        assert "newer version" in journal_of(daemon)["why"]
        assert daemon.stop() == 0

    kept_journal.replace(journal)
    for rest in ("-wal", "-shm"):
        journal.with_name(journal.name + rest).unlink(missing_ok=True)
    lives(tmp_path, rig, port)
