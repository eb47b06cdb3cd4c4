"""The feed as it came, and what was made of it, rebuilt from the journal's rows."""

import heapq
from collections.abc import Iterable, Iterator
from operator import attrgetter
from pathlib import Path

from monitor.changes import Change
from monitor.journal.blocks import LONGEST_US, unpack
from monitor.journal.rows import CHANGES, EVENTS, microseconds
from monitor.journal.stored import FOREVER_US, Reader, Run, Stored, opened
from monitor.readings import Event, Pack

_at = attrgetter("at")


def rebuild(
    path: Path, since: float | None = None, until: float | None = None, run: int | None = None
) -> Iterator[Event]:
    """Every event as it was put, in order, from `since` up to before `until` (Unix seconds, the daemon's time line).

    Run by run, or one `run` alone: where time fell between two runs, it falls between their events.
    Raises JournalFault.
    """
    with opened(path) as reader:
        for each in _chosen(reader, run):
            yield from _events(reader, each, *_window(since, until))


def changes(
    path: Path, since: float | None = None, until: float | None = None, run: int | None = None
) -> Iterator[Change]:
    """Every forecast and alarm change, as `rebuild` gives events; at one time, alarms come before the forecast."""
    with opened(path) as reader:
        for each in _chosen(reader, run):
            window = _window(since, until)
            yield from heapq.merge(*[reader.rows(table, each.id, *window) for table in CHANGES.values()], key=_at)


def _chosen(reader: Reader, run: int | None) -> list[Run]:
    return [each for each in reader.runs.values() if run in (None, each.id)]


def _window(since: float | None, until: float | None) -> tuple[int, int]:
    return (
        -FOREVER_US if since is None else microseconds(since),
        FOREVER_US if until is None else microseconds(until),
    )


def _events(reader: Reader, run: Run, from_us: int, upto_us: int) -> Iterator[Event]:
    since, until = from_us / 1e6, upto_us / 1e6
    blocks = reader.blocks_of(run, from_us - LONGEST_US, upto_us)
    packs = (pack for pack in in_order(blocks) if since <= pack.at < until)
    rows = [reader.rows(table, run.id, from_us, upto_us) for table in EVENTS.values()]
    return heapq.merge(packs, *rows, key=_at)


def in_order(blocks: Iterable[Stored]) -> Iterator[Pack]:
    """The packs of blocks that overlap in time, oldest first."""
    waiting: list[Pack] = []
    for stored in blocks:
        began = stored.block.at_us[0] / 1e6
        if waiting and waiting[0].at < began:
            early = [pack for pack in waiting if pack.at < began]
            waiting = waiting[len(early) :]
            yield from early
        waiting.extend(unpack(stored.block))
        waiting.sort(key=_at)
    yield from waiting
