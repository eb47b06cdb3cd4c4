"""A recorded feed: as a plain sequence of events, or played against the clock."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO

from monitor.feeds.clock import Clock
from monitor.feeds.feed import Trouble
from monitor.feeds.inbox import Stamps
from monitor.feeds.played import PlayedFeed
from monitor.readings import Event, Pack, Record, Reject, WallStep
from monitor.wire.recorded import LONGEST_LINE, read_line
from monitor.wire.rejected import Rejected, shown

FIRST_ABSOLUTE = 2**28
"""RFC 8428 section 4.5.3: a stamp of this amount or more is the node's own clock."""


def lines(file: BinaryIO) -> Iterator[bytes]:
    """The file's lines; one that is longer than any good line comes in pieces, each to be rejected."""
    return iter(lambda: file.readline(LONGEST_LINE + 1), b"")


def events(recording: Iterable[bytes], default_feed: str) -> Iterator[Event]:
    """The events of a recording, each later than the one before; a bad line is a Reject at its place in time."""
    stamps, at = Stamps(), 0.0
    for line in recording:
        if not line.strip():
            continue
        try:
            event = read_line(line, default_feed)
        except Rejected as refused:
            event = Reject(at, default_feed, refused.kind, refused.why, shown(line))
        at = stamps.next(event.at)
        yield event._replace(at=at)


class Recording:
    """A file's events, moved so that the first one happens at `start_at`."""

    def __init__(self, file: Path, feed: str, start_at: float) -> None:
        """Raises OSError where the file can't be read."""
        self._file = file
        self._source = file.open("rb")
        self._events = events(lines(self._source), feed)
        self._next = next(self._events, None)
        self._shift_s = start_at - self._next.at if self._next else 0.0

    def advance(self, to_at: float) -> Iterator[Event]:
        while self._next is not None and self._next.at + self._shift_s <= to_at:
            yield shifted(self._next, self._shift_s)
            self._next = next(self._events, None)

    def ended(self) -> Trouble | None:
        if self._next is not None:
            return None
        return Trouble(f"The recording {self._file} has been played to its end.", "Start the daemon to play it again.")

    def close(self) -> None:
        self._source.close()


def shifted(event: Event, shift_s: float) -> Event:
    """The same event at another time; what the nodes' own clocks said moves with it."""
    if isinstance(event, Pack):
        return event._replace(at=event.at + shift_s, records=tuple(_shifted(r, shift_s) for r in event.records))
    if isinstance(event, WallStep):
        return WallStep(event.at + shift_s, event.wall + shift_s)
    return event._replace(at=event.at + shift_s)


def _shifted(record: Record, shift_s: float) -> Record:
    return record if record.stamp < FIRST_ABSOLUTE else record._replace(stamp=record.stamp + shift_s)


def recorded_feed(name: str, clock: Clock, file: Path) -> PlayedFeed:
    """The recording, played from the moment the feed is started, at the clock's speed."""
    return PlayedFeed(name, clock, lambda start_at: Recording(file, name, start_at))
