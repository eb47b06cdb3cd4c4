"""What is known outlives a kill, a damaged state file and a changed rig file."""

import json
import signal
from pathlib import Path

import pytest
from daemons import Holdwater, holdwater, write_rig
from ports import Port
from talkers import Pack, level, talking
from waiting import until

HEEL_M, NEAR_HEEL_M = 0.158, 0.19  # 30 gal, and half a minute's draw above it
WARNS = "dry-soon"


def rig_on(port: Port, folder: Path, **settings: str) -> Path:
    return write_rig(folder / "rig.toml", f'serial = "{port.name}"', **settings)


def drawing(height_m: float) -> Pack:
    return [
        *level(height_m),
        {"bn": "rides/", "n": "running", "vb": True},
        {"n": "drawing", "vb": True},
        {"bn": "inlet/", "n": "total", "u": "l", "v": 0},
    ]


def talk(port: Port, height_m: float = NEAR_HEEL_M):
    """Rides draws, and the level trembles by a millimetre as levels do."""
    return talking(["cat"], lambda s: drawing(height_m + 0.001 * (s * 5 % 2 < 1)), **port.writer())


def saved(folder: Path) -> dict:
    file = folder / "holdwater.state.json"
    return json.loads(file.read_text("utf-8")) if file.exists() else {}


def standing(folder: Path) -> set[str]:
    """The alarms that the state file would bring back."""
    return {a["alarm"] for a in saved(folder).get("alarms", {}).get("alarms", []) if WARNS in str(a)}


def test_a_warning_outlives_the_kill_of_the_daemon(port: Port, tmp_path: Path) -> None:
    rig = rig_on(port, tmp_path)
    with talk(port), holdwater(tmp_path, "run", rig) as first:
        first.until_alarm(WARNS, 30.0)
        until(lambda: standing(tmp_path), what="the warning is in the state file")
        since = next(a["since"] for a in first.state()["alarms"] if a["alarm"] == WARNS)
        first.kill()
        with holdwater(tmp_path, "run", rig) as second:
            until(lambda: second.state()["age_s"] is not None, what="the first reading")
            until(lambda: WARNS in second.alarms(), 2.0, "the warning stands at once")
            again = next(a for a in second.state()["alarms"] if a["alarm"] == WARNS)
            assert again["since"] == pytest.approx(since)
            until(lambda: second.volume_l() is not None)
            assert again["state"] == "unacknowledged"


def test_no_reading_is_needed_for_a_warning_to_stand(port: Port, tmp_path: Path) -> None:
    rig = rig_on(port, tmp_path)
    with talk(port), holdwater(tmp_path, "run", rig) as first:
        first.until_alarm(WARNS, 30.0)
        until(lambda: standing(tmp_path))
        first.kill()
    with holdwater(tmp_path, "run", rig) as second:
        assert WARNS in second.alarms()


@pytest.mark.parametrize(
    "damage", ['{"version": 1, "volume_l": "much"}', '{"version": 1, "alarms": [7]}', "{half", "7"]
)
def test_a_damaged_state_file_is_said_and_put_aside(tmp_path: Path, damage: str) -> None:
    (tmp_path / "holdwater.state.json").write_text(damage, "utf-8")
    with holdwater(tmp_path, "run", write_rig(tmp_path / "rig.toml", 'serial = "/dev/no-such-port"')) as running:
        assert running.state()["forecast"]["volume_l"] is None
        assert "Traceback" not in running.said()
        assert "starting afresh" in running.said()
        assert (tmp_path / "holdwater.state.damaged").read_text("utf-8") == damage
        assert running.stop() == 0
    assert saved(tmp_path)["version"] == 1


def test_a_changed_rig_file_is_taken_over(port: Port, tmp_path: Path) -> None:
    rig = rig_on(port, tmp_path)
    with talk(port), holdwater(tmp_path, "run", rig) as running:
        running.until_alarm(WARNS, 30.0)
        port.send(b"garble\n")
        until(running.rejects)
        volume_l = running.volume_l()
        rig_on(port, tmp_path, name="Another name", heel="31 gal")
        running.tell(signal.SIGHUP)
        state = until(lambda: after(running, "Another name"))
        assert state["rig"]["heel_l"] == pytest.approx(31 * 3.785411784)
        assert WARNS in {alarm["alarm"] for alarm in state["alarms"]}
        assert state["rejects"]["total"] >= 1
        assert until(running.volume_l) == pytest.approx(volume_l, rel=0.1)
        assert "was taken over" in running.said()


def after(running: Holdwater, name: str) -> dict | None:
    state = running.state()
    return state if state["rig"]["name"] == name else None


def test_a_wrong_rig_file_changes_nothing_and_is_said(port: Port, tmp_path: Path) -> None:
    rig = rig_on(port, tmp_path)
    with talk(port), holdwater(tmp_path, "run", rig) as running:
        until(running.volume_l)
        rig_on(port, tmp_path, name="Never seen", heel="400 gal")
        running.tell(signal.SIGHUP)
        until(lambda: "not taken over" in running.said())
        assert "heel" in running.said()
        assert running.state()["rig"]["name"] == "Test rig"
        rig_on(port, tmp_path, name="Mended", more='[notices]\nmqtt = "mqtt://127.0.0.1:1"')
        running.tell(signal.SIGHUP)
        until(lambda: after(running, "Mended"))
        assert "at the next start" in running.said()
