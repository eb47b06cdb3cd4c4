"""The clock of the rig's place: as the rig file names it, else the computer's own."""

from datetime import tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo

LOCAL = Path("/etc/localtime")


def zone_of(name: str | None, local: Path = LOCAL) -> tzinfo:
    """UTC where nothing tells."""
    if name is not None:
        return ZoneInfo(name)
    try:
        with local.open("rb") as file:
            return ZoneInfo.from_file(file)
    except (OSError, ValueError):
        return ZoneInfo("UTC")
