"""The real command ``holdwater`` as a child process on free ports, and a rig file for it."""

import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
from waiting import until

COMMAND = Path(sys.executable).with_name("holdwater")
START_S = 90.0
ADDRESS = re.compile(r"https?://\S+")

RIG = """
[rig]
name = "{name}"

[tank]
capacity = "320 gal"
full = "300 gal"
heel = "{heel}"
band = ["50 gal", "180 gal"]
shape = {{ kind = "horizontal cylinder", diameter = "42 in", length = "54 in" }}

[tank.level]
reading = "tank/level"
measures = "height"

[supply]
reading = "inlet/total"
measures = "total"

[[pump]]
name = "Rides"
draw = "6 gpm"
running = "rides/running"
drawing = "rides/drawing"

{feed}

[journal]
file = "holdwater.db"

[page]
listen = "{listen}"
{more}
"""


def write_rig(
    file: Path, feed: str, *, name: str = "Test rig", heel: str = "30 gal", listen: str = "127.0.0.1:0", more: str = ""
) -> Path:
    """A rig file; `feed` are the lines of one [[feed]] table, or several tables."""
    tables = feed if feed.startswith("[[") or not feed else f"[[feed]]\n{feed}"
    file.write_text(RIG.format(feed=tables, name=name, heel=heel, listen=listen, more=more), "utf-8")
    return file


def command(*arguments: str | Path, **how: Any) -> subprocess.CompletedProcess[str]:
    """``holdwater`` run to its end."""
    said = [COMMAND, *arguments]
    return subprocess.run(said, capture_output=True, text=True, timeout=60, check=False, **how)


class Holdwater:
    """A running daemon. Its address is read from what it prints."""

    def __init__(
        self, folder: Path, *arguments: str | Path, env: dict[str, str] | None = None, under: tuple[str, ...] = ()
    ) -> None:
        self.out, self.err = folder / "out", folder / "err"
        with self.out.open("w") as out, self.err.open("w") as err:
            said = [*under, COMMAND, *arguments]
            self.process = subprocess.Popen(said, stdout=out, stderr=err, cwd=folder, env=env)
        self.url = until(self._address, START_S, "the daemon prints its address")
        self.http = httpx.Client(base_url=self.url, timeout=60.0)

    def _address(self) -> str | None:
        assert self.process.poll() is None, f"the daemon ended at once: {self.said()}"
        found = ADDRESS.search(self.out.read_text("utf-8"))
        return found and found.group()

    def said(self) -> str:
        """All it has printed, on both ways out."""
        return self.out.read_text("utf-8") + self.err.read_text("utf-8")

    def state(self) -> dict[str, Any]:
        answer = self.http.get("/api/state")
        assert answer.status_code == 200, answer.text
        return answer.json()

    def health(self) -> tuple[int, dict[str, Any]]:
        answer = self.http.get("/healthz")
        return answer.status_code, answer.json()["parts"]

    def alarms(self) -> dict[str, str]:
        return {alarm["alarm"]: alarm["state"] for alarm in self.state()["alarms"]}

    def volume_l(self) -> float | None:
        return self.state()["forecast"]["volume_l"]

    def rejects(self) -> dict[str, int]:
        return self.state()["rejects"]["by_kind"]

    def until_alarm(self, name: str, within_s: float = 10.0) -> None:
        until(lambda: name in self.alarms(), within_s, name)

    def tell(self, number: signal.Signals) -> None:
        self.process.send_signal(number)

    def stop(self, within_s: float = 20.0) -> int:
        """Ctrl-C; the exit code."""
        self.tell(signal.SIGINT)
        return self.process.wait(within_s)

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()
        self.http.close()


@contextmanager
def holdwater(
    folder: Path, *arguments: str | Path, env: dict[str, str] | None = None, under: tuple[str, ...] = ()
) -> Iterator[Holdwater]:
    """A daemon that is gone at the end of the block; `under` is a command that becomes it."""
    folder.mkdir(exist_ok=True)
    running = Holdwater(folder, *arguments, env=env, under=under)
    try:
        yield running
    finally:
        running.kill()
