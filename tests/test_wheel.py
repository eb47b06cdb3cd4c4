"""What a built wheel holds: all pages, and the day view's chart where npm brought it; where npm fails, all but that."""

import json
import shutil
import subprocess
import sys
from os import environ
from pathlib import Path
from zipfile import ZipFile

import pytest

ROOT = Path(__file__).parents[1]
FILES = ("pyproject.toml", "README.md", ".ci", "monitor", "simulated_feeds", "dashboards")
CHART = {f"dashboards/chart/uplot.{end}" for end in ("js", "css", "LICENSE.txt", "integrity.txt")}
# stands in for npm: puts there what `npm ci` of the lock file would
NPM = """#!/bin/sh
[ "$1" = ci ] && grep -q integrity package-lock.json || exit 1
mkdir -p node_modules/uplot/dist && cd node_modules/uplot || exit 1
echo chart > dist/uPlot.iife.min.js; echo style > dist/uPlot.min.css; echo terms > LICENSE
"""
NO_NPM = "#!/bin/sh\necho 'nothing can be reached' >&2\nexit 1\n"


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """What would be checked out, and nothing that was brought since."""
    tree = tmp_path / "tree"
    tree.mkdir()
    left_out = shutil.ignore_patterns("__pycache__", "uplot.*")
    for name in FILES:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, tree / name, ignore=left_out)
        else:
            shutil.copy(ROOT / name, tree / name)
    return tree


def built(tree: Path, npm: str) -> tuple[dict[str, bytes], str]:
    """The files of a wheel built with this npm, and what was said meanwhile."""
    stand_in = tree.parent / "bin" / "npm"
    stand_in.parent.mkdir()
    stand_in.write_text(npm, "utf-8")
    stand_in.chmod(0o755)
    env = {**environ, "PATH": f"{stand_in.parent}:{environ['PATH']}"}
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tree.parent)]
    done = subprocess.run(build, cwd=tree, env=env, capture_output=True, text=True, timeout=120, check=True)
    (wheel,) = tree.parent.glob("*.whl")
    with ZipFile(wheel) as files:
        return {name: files.read(name) for name in files.namelist()}, done.stdout + done.stderr


def pages() -> set[str]:
    own = [file for file in (ROOT / "dashboards").rglob("*") if file.is_file() and "__pycache__" not in file.parts]
    return {str(file.relative_to(ROOT)) for file in own} - CHART


def test_a_wheel_holds_every_page_and_the_chart(tree: Path) -> None:
    files, _ = built(tree, NPM)
    assert pages() | CHART <= set(files)
    assert files["dashboards/chart/uplot.js"] == b"chart\n"
    assert not [name for name in files if name.startswith((".ci", "tests", "firmware_notes"))]


def test_where_npm_fails_all_but_the_chart_is_there_and_it_is_said(tree: Path) -> None:
    files, said = built(tree, NO_NPM)
    assert pages() <= set(files)
    assert not CHART & set(files)
    assert "goes without its chart" in said
    assert "nothing can be reached" in said


def test_the_lock_file_holds_a_hash_and_no_host() -> None:
    text = (ROOT / ".ci" / "chart" / "package-lock.json").read_text("utf-8")
    assert "://" not in text
    packages = json.loads(text)["packages"]
    assert set(packages) == {"", "node_modules/uplot"}
    assert packages["node_modules/uplot"]["integrity"].startswith("sha512-")


def test_nothing_of_the_chart_is_committed() -> None:
    assert "dashboards/chart/" in (ROOT / ".gitignore").read_text("utf-8").split()
