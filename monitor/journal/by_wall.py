"""The feed as it came, with what the wall clock said: where runs overlap, the later one counts."""

from collections.abc import Iterator
from pathlib import Path

from monitor.journal.rebuild import rebuild
from monitor.journal.rows import microseconds
from monitor.journal.stored import opened
from monitor.journal.stretches import stretches
from monitor.wire.cut import Timed

LOOKS_BACK_S = 24 * 3600.0
"""How far back is looked for what still stood."""


def span(path: Path) -> tuple[float, float] | None:
    """From when to when there is something, wall time in Unix seconds; None where nothing is. Raises JournalFault."""
    with opened(path) as reader:
        runs = list(reader.runs.values())
        began_us = min((run.began_us + run.shift_us for run in runs), default=None)
        upto_us = max((run.upto_us + run.shift_us for run in runs), default=0)
    return None if began_us is None else (began_us / 1e6, upto_us / 1e6)


def by_wall(path: Path, since: float, until: float) -> Iterator[Timed]:
    """Every event from a day before `since` up to `until` and a little more. Raises JournalFault."""
    with opened(path) as reader:
        window = (microseconds(since - LOOKS_BACK_S), microseconds(until + 1.0))
        chosen = stretches(reader.runs.values(), *window)
    for stretch in chosen:
        shift_s = stretch.run.shift_us / 1e6
        for event in rebuild(path, stretch.from_us / 1e6, stretch.upto_us / 1e6, stretch.run.id):
            yield event.at + shift_s, event
