"""The computer that the daemon runs on, as Linux tells of it: disk, heat, supply voltage, clock, load.

What a machine does not tell is None, never nought. The files of the Raspberry Pi and the meaning of their bits are
from memory, and so is that its processor slows down from 80 degrees Celsius on.
"""

import shutil
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from monitor.worker import Hire, Steps, Thread

FRESH_S = 30.0
HOT_CEL = 80.0
LEAST_FREE_MB = 100.0
THROTTLED = "sys/devices/platform/soc/soc:firmware/get_throttled"
UNDER_NOW, UNDER_SINCE_START = 1 << 0, 1 << 16


class Look(NamedTuple):
    """One look at the computer."""

    disk_free_mb: float | None
    cpu_cel: float | None
    under_voltage: bool | None
    """Now."""
    under_voltage_before: bool | None
    """At some time since the computer was switched on."""
    clock_set: bool | None
    """Whether a network has set the clock since then."""
    load: float | None
    """Mean of one minute, in processors."""
    uptime_s: float | None

    def fault(self) -> tuple[str, str] | None:
        """Why the computer is not well and what to do, or None."""
        if self.under_voltage:
            return "The computer's supply voltage is too low.", "Look at its converter, its cable and the battery."
        if self.cpu_cel is not None and self.cpu_cel >= HOT_CEL:
            return f"The computer is {self.cpu_cel:.0f} degrees Celsius hot.", "Give it shade and air."
        if self.disk_free_mb is not None and self.disk_free_mb < LEAST_FREE_MB:
            return f"Only {self.disk_free_mb:.0f} MB are free on the disk.", "Delete what is not needed there."
        return None


class Computer:
    """Looks every 30 s on a worker of its own: a disk or a sensor that does not answer must not hold up a decision.

    `folder` is where the journal is; `root` is / but in tests.
    """

    def __init__(self, folder: Path, hire: Hire = Thread, root: Path = Path("/")) -> None:
        self._folder, self._root = folder, root
        self._look = Look(None, None, None, None, None, None, None)
        self._worker = hire("computer", self._looks)

    def start(self) -> None:
        self._worker.start()

    def close(self) -> None:
        self._worker.close()

    def look(self) -> Look:
        """What was seen last; returns at once."""
        return self._look

    def now(self) -> Look:
        """A look now, however long it takes."""
        under, before = self._under_voltage()
        return Look(
            disk_free_mb=self._disk_free_mb(),
            cpu_cel=self._cpu_cel(),
            under_voltage=under,
            under_voltage_before=before,
            clock_set=self._clock_set(),
            load=self._number("proc/loadavg"),
            uptime_s=self._number("proc/uptime"),
        )

    def _looks(self) -> Steps:
        while True:
            self._look = self.now()
            yield FRESH_S

    def _text(self, path: str) -> str | None:
        try:
            return (self._root / path).read_text("ascii").strip()
        except (OSError, ValueError):
            return None

    def _number(self, path: str) -> float | None:
        """The first number of a file."""
        with suppress(ValueError, IndexError):
            return float((self._text(path) or "").split()[0])
        return None

    def _disk_free_mb(self) -> float | None:
        with suppress(OSError):
            return round(shutil.disk_usage(self._folder).free / 1e6, 1)
        return None

    def _cpu_cel(self) -> float | None:
        milli = self._number("sys/class/thermal/thermal_zone0/temp")
        return None if milli is None else milli / 1000.0

    def _under_voltage(self) -> tuple[bool | None, bool | None]:
        with suppress(ValueError):
            if (bits := self._text(THROTTLED)) is not None:
                return bool(int(bits, 16) & UNDER_NOW), bool(int(bits, 16) & UNDER_SINCE_START)
        for alarm in sorted((self._root / "sys/class/hwmon").glob("hwmon*/in0_lcrit_alarm")):
            with suppress(OSError, ValueError):
                return alarm.read_text("ascii").strip() == "1", None
        return None, None

    def _clock_set(self) -> bool | None:
        """By systemd's own client; another client is not asked."""
        folder = self._root / "run/systemd/timesync"
        return (folder / "synchronized").exists() if folder.is_dir() else None
