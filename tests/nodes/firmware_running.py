"""A node's firmware under the MicroPython Unix build, its pins held by the test."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

MICROPYTHON = Path(sys.executable).with_name("micropython")
NODES = Path(__file__).parents[2] / "firmware_notes" / "nodes"
PINS = Path(__file__).parent


class Firmware:
    def __init__(
        self, folder: Path, program: str, name: str, port: int | None, password: str | None = None,
        trust: Path | None = None, host: str = "127.0.0.1",
    ) -> None:  # fmt: skip
        self.folder, self.program = folder, program
        folder.mkdir(exist_ok=True)
        broker = f'"{host}"\nPORT = {port}' if port else "None\nPORT = 0"
        user = f'USER = "{name}"\nPASSWORD = "{password}"' if password else "USER = PASSWORD = None"
        tls = f'TRUST = "{trust}"' if trust else "TRUST = None"
        (folder / "settings.py").write_text(
            f'NODE = "{name}"\nBROKER = {broker}\n{user}\n{tls}\nL_PER_PULSE = 0.1\n'
        )
        (folder / "hardware.py").write_text((PINS / "hardware.py").read_text())
        self.env = {**os.environ, "MICROPYPATH": f"{folder}:{NODES}:.frozen"}
        self.inputs: dict = {}
        self.process: subprocess.Popen | None = None

    def start(self, line: int | None = None) -> None:
        """`line`: where it writes its serial lines."""
        start = f"import sys; sys.path[:0] = [{str(self.folder)!r}, {str(NODES)!r}]; import {self.program}"
        with (self.folder / "said").open("w") as said:
            self.process = subprocess.Popen([MICROPYTHON, "-c", start], cwd=self.folder, env=self.env,
                                            stdout=said if line is None else line, stderr=said)  # fmt: skip

    def put(self, **inputs) -> None:
        """What the pins say from now on."""
        self.inputs |= inputs
        beside = self.folder / "inputs.new"
        beside.write_text(json.dumps(self.inputs))
        beside.replace(self.folder / "inputs.json")

    @property
    def relay(self) -> str:
        file = self.folder / "relay"
        return file.read_text() if file.exists() else ""

    def stop(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait()

    def alive(self) -> bool:
        return self.process is not None and self.process.poll() is None


@contextmanager
def firmware(folder: Path, program: str, name: str, port: int | None = None, **tls) -> Iterator[Firmware]:
    node = Firmware(folder, program, name, port, **tls)
    try:
        yield node
    finally:
        node.stop()
