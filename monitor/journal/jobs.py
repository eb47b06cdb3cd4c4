"""The finished jobs, out of the journal: a row each, that no retention takes."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any

from monitor.changes import JobDone
from monitor.journal.book import line
from monitor.journal.rows import CHANGES
from monitor.journal.stored import FOREVER_US, opened
from monitor.quantities import L_PER_GAL, System


def jobs(path: Path, since: float | None = None, until: float | None = None) -> list[dict[str, Any]]:
    """Every finished job in the order they ended, those that ended in a window of Unix seconds. Raises JournalFault.

    Water in l, times in Unix seconds. A journal that an older version wrote has none, until the daemon next opens it.
    """
    with opened(path) as reader:
        table, runs = CHANGES[JobDone], reader.runs.values()
        found = [done.figures for run in runs for done in reader.rows(table, run.id, -FOREVER_US, FOREVER_US)]
    return [job for job in found if _within(job.get("ended", 0.0), since, until)]


def _within(at: float, since: float | None, until: float | None) -> bool:
    return (since is None or at >= since) and (until is None or at < until)


def jobs_csv(found: Iterable[dict[str, Any]], pumps: Sequence[str], zone: tzinfo, system: System) -> Iterator[str]:
    """The jobs as CSV, units in the headings."""
    unit, per = ("gal", L_PER_GAL) if system == "us" else ("l", 1.0)
    named = [f"{pump} ({unit})" for pump in pumps]
    yield line(["began", "ended", "site", f"water in ({unit})", f"water used ({unit})", *named,
                f"chemical ({unit})", "watched (h)", "alarms", "answered", "note"])  # fmt: skip
    for job in found:
        volumes = [job["in_l"], job["used_l"], *(job["pumps_l"].get(pump, 0.0) for pump in pumps)]
        times = [datetime.fromtimestamp(job[key], zone).strftime("%Y-%m-%d %H:%M") for key in ("began", "ended")]
        yield line([*times, job["site"], *(f"{v / per:.1f}" for v in volumes),
                    f"{sum(job.get('chemical_l', {}).values()) / per:.2f}", f"{job['watched_s'] / 3600:.2f}",
                    job["alarms"], job["answers"], job["note"]])  # fmt: skip
