"""What several commands take from the line they are called with."""

from pathlib import Path
from typing import Any

import click

from monitor.rig.faults import RigFaults
from monitor.rig.load import load
from monitor.rig.model import Rig

FILE = click.Path(dir_okay=False, path_type=Path)
FILE_THERE = click.Path(exists=True, dir_okay=False, path_type=Path)


def loaded(path: Path) -> Rig:
    """The rig file, or all its faults as the command's last words."""
    try:
        return load(path)
    except RigFaults as faults:
        raise click.ClickException(str(faults)) from None


def learned(rig: Rig) -> dict[str, Any]:
    """What the daemon has learned and calibrated; what a newer program has, this one refuses."""
    from monitor.state_file import NewerState, StateFile

    try:
        return StateFile(rig.journal.file).read() or {}
    except NewerState as newer:
        raise click.ClickException(str(newer)) from None
