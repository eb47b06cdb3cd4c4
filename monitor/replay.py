"""Replay: a recorded feed through the same core, on the feed's own time, as fast as it can go.

No network, port, journal or wall clock: the same input gives the same bytes out.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from monitor.alarms.by_name import ByName
from monitor.changes import AlarmChange, Change, Forecast
from monitor.core import Core
from monitor.feeds.recorded import events, lines
from monitor.readings import Reject
from monitor.rig.model import Rig


class Played(NamedTuple):
    """What a replay went through."""

    lines: int
    rejected: int
    forecasts: int
    alarms: int


def replay(rig: Rig, recording: Path, out: Path, saved: dict[str, Any] | None = None) -> Played:
    """Play `recording` and write one JSON line a change to `out`. Raises OSError."""
    core = Core(rig, saved)
    names = ByName(core.board)
    counts = {"lines": 0, "rejected": 0, "forecasts": 0, "alarms": 0}
    with recording.open("rb") as source, out.open("w", encoding="utf-8", newline="\n") as sink:
        for event in events(lines(source), rig.named_feeds[0][0]):
            counts["lines"] += 1
            counts["rejected"] += isinstance(event, Reject)
            for line in told(core.take(event), names):
                counts["forecasts" if line["event"] == "forecast" else "alarms"] += 1
                sink.write(json.dumps(line, ensure_ascii=False, separators=(", ", ": ")) + "\n")
    return Played(**counts)


def told(changes: list[Change], names: ByName) -> Iterator[dict[str, Any]]:
    """The changes as lines of the events file, in their order; alarms under their bare names."""
    for change in changes:
        if isinstance(change, Forecast):
            yield change.line()
        elif isinstance(change, AlarmChange):
            yield from (news.line() for news in names.lines([change]))
