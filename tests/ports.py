"""A pseudo-terminal under a name that stays, as a serial port that can be pulled out and put back."""

import os
from pathlib import Path


class Port:
    def __init__(self, name: Path) -> None:
        self.name = str(name)
        self.plug_in()

    def plug_in(self) -> None:
        """A new terminal under the old name."""
        self._master, self._slave = os.openpty()
        os.symlink(os.ttyname(self._slave), self.name)

    def pull_out(self) -> None:
        os.unlink(self.name)
        os.close(self._slave)
        os.close(self._master)

    def send(self, data: bytes) -> None:
        while data:
            data = data[os.write(self._master, data) :]

    def writer(self) -> dict[str, int]:
        """What to give subprocess, so that another process writes on this line."""
        return {"stdout": self._master}
