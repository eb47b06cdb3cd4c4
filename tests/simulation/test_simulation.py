"""That the simulation itself can be believed; the fixed lives stand beside it."""

import asyncio
import os
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from monitor.worker import Steps
from tests.simulation import campaign
from tests.simulation.disk import Disk
from tests.simulation.life import Life, Lived
from tests.simulation.loop import Hands, Killed, Loop
from tests.simulation.plant import HOME, PATCHES, patch


@pytest.mark.campaign
def test_the_same_seed_gives_the_same_trace() -> None:
    """To the byte, and in a process where sets and dicts of text have another order."""
    code = (
        "import sys, tempfile; from pathlib import Path; from tests.simulation.life import Life\n"
        "with tempfile.TemporaryDirectory() as folder:\n"
        "    print(Life(5, Path(folder), 400.0).live().trace)"
    )
    traces = {
        subprocess.run(
            [sys.executable, "-c", code], cwd=HOME, capture_output=True, text=True, check=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(HOME)},
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(traces) == 1
    assert len(traces.pop().strip()) == 64


@pytest.mark.parametrize("file", PATCHES, ids=lambda file: file.stem)
def test_a_planted_bug_still_fits(file: Path) -> None:
    """make plant lives with each until a check fails."""
    assert patch(HOME, file, "--check").stderr == ""


def test_time_leaps() -> None:
    loop = Loop()
    seen = []

    async def lives() -> None:
        loop.call_later(3600.0, lambda: seen.append(loop.time()))
        await asyncio.sleep(86_400.0)
        seen.append(loop.time())

    loop.run_until_complete(lives())
    loop.close()
    assert seen == pytest.approx([3600.0, 86_400.0])


def test_a_life_that_goes_round_in_a_circle_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """By what it computes, not by how long that takes."""

    def circle(life: Life) -> None:
        while True:
            life.loop.time()

    def live(life: Life) -> Lived:
        life.loop.call_soon(circle, life)
        life.loop.run_forever()
        raise AssertionError

    monkeypatch.setattr(campaign, "MOST_CPU_S", 0.05)
    monkeypatch.setattr(Life, "live", live)
    assert "does not go on" in campaign.lived(1).failures[0]


def test_what_a_disk_refuses_is_half_there(tmp_path: Path) -> None:
    disk = Disk(tmp_path, lambda: 0.0)
    disk.full = True
    with (tmp_path / "holdwater.state.new").open("w") as file:
        file.write("12345678")
        file.flush()
        with pytest.raises(OSError, match="No space left"):
            disk.sync(file.fileno())
    assert (tmp_path / "holdwater.state.new").read_text() == "1234"


def test_a_worker_killed_in_its_last_write_takes_its_process_with_it() -> None:
    """A daemon that is killed while it stops holds no lock when it is started again."""
    loop = Loop()
    hands = Hands(loop, Random(1), lambda: None)

    def steps() -> Steps:
        try:
            yield 1.0
        finally:
            raise Killed

    worker = hands.hire("journal", steps)
    worker.start()
    loop.run_until_complete(asyncio.sleep(0.5))
    worker.close()
    loop.close()
    assert hands.dead


def test_a_simulation_in_which_nothing_is_due_ends() -> None:
    loop = Loop()
    with pytest.raises(RuntimeError, match="stands still"):
        loop.run_until_complete(asyncio.Event().wait())
    loop.close()
