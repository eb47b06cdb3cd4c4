"""The finished jobs, out of the journal: a row each, that no retention takes."""

from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any

from monitor.changes import JobDone
from monitor.journal.book import line
from monitor.journal.rows import CHANGES
from monitor.journal.stored import FOREVER_US, opened
from monitor.quantities import L_PER_GAL, System


def jobs(path: Path) -> list[dict[str, Any]]:
    """Every finished job in the order they ended. Water in l, times in Unix seconds. Raises JournalFault.

    A journal that an older version wrote has none, until the daemon next opens it.
    """
    with opened(path) as reader:
        table = CHANGES[JobDone]
        runs = reader.runs.values()
        return [done.figures for run in runs for done in reader.rows(table, run.id, -FOREVER_US, FOREVER_US)]


def jobs_csv(path: Path, pumps: Sequence[str], zone: tzinfo, system: System) -> Iterator[str]:
    """The jobs as CSV, units in the headings. Raises JournalFault."""
    unit, per = ("gal", L_PER_GAL) if system == "us" else ("l", 1.0)
    named = [f"{pump} ({unit})" for pump in pumps]
    yield line(["began", "ended", "site", f"water in ({unit})", f"water used ({unit})", *named,
                "watched (h)", "alarms", "answered", "note"])  # fmt: skip
    for job in jobs(path):
        volumes = [job["in_l"], job["used_l"], *(job["pumps_l"].get(pump, 0.0) for pump in pumps)]
        times = [datetime.fromtimestamp(job[key], zone).strftime("%Y-%m-%d %H:%M") for key in ("began", "ended")]
        yield line([*times, job["site"], *(f"{v / per:.1f}" for v in volumes), f"{job['watched_s'] / 3600:.2f}",
                    job["alarms"], job["answers"], job["note"]])  # fmt: skip
