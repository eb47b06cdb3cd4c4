"""``cut``: the minutes that matter out of a recorded day, so that they replay well."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

import click

from monitor.commands.arguments import FILE, FILE_THERE, loaded
from monitor.commands.moments import Span, moment
from monitor.readings import Event
from monitor.rig.model import Rig
from monitor.wire.cut import Timed, by_wall, cut


class Source(NamedTuple):
    """A recorded day: from when to when it goes, and its events from before one time up to another."""

    span: Span
    timed: Callable[[float, float], Iterator[Timed]]


@click.command(name="cut")
@click.argument("rig", type=FILE)
@click.argument("out", type=FILE)
@click.option("--from", "since", required=True, help='"10:15", "2026-11-25 10:15", "+12 min" after its beginning.')
@click.option("--to", "until", required=True, help='The same; "-30 min" is before its end.')
@click.option("--run-in", default="30 min", show_default=True, help="What is kept before, for the core to settle.")
@click.option("--feed", type=FILE_THERE, help="A recorded feed to cut from; left out: the rig's journal.")
@click.option("--state", type=FILE, help="Write there what was learned up to the cut, for replay --state.")
def cutting(rig: Path, out: Path, since: str, until: str, run_in: str, feed: Path | None, state: Path | None) -> None:
    """Cut the minutes that matter out of what RIG has recorded, into OUT, to be replayed."""
    from monitor.journal.faults import JournalFault

    known = loaded(rig)
    try:
        source = _of_file(known, feed) if feed is not None else _of_journal(known)
        window = _window(source.span, since, until, run_in)
        told = _write(known, source, window, out, state)
    except JournalFault as fault:
        raise click.ClickException(str(fault)) from None
    except ValueError as error:
        raise click.ClickException(f"{error}.") from None
    except OSError as error:
        raise click.ClickException(f"{error.filename}: {error.strerror}. Check the file and the disk.") from None
    click.echo(f"{told} lines, {Span(*window, source.span.zone).said()} with {run_in} to settle in → {out}")


def _zone(rig: Rig) -> ZoneInfo:
    return ZoneInfo(rig.about.timezone or "UTC")


def _of_journal(rig: Rig) -> Source:
    from monitor.journal.by_wall import by_wall as stored
    from monitor.journal.by_wall import span

    found = span(rig.journal.file)
    if found is None:
        raise ValueError(f"{rig.journal.file} is empty: nothing has been recorded yet")
    return Source(Span(*found, _zone(rig)), lambda since, until: stored(rig.journal.file, since, until))


def _of_file(rig: Rig, feed: Path) -> Source:
    begins = ends = None
    for wall, _ in _timed(rig, feed):
        begins, ends = wall if begins is None else begins, wall
    if begins is None or ends is None:
        raise ValueError(f"{feed} is empty: nothing was recorded in it")
    return Source(Span(begins, ends, _zone(rig)), lambda since, until: _timed(rig, feed))


def _timed(rig: Rig, feed: Path) -> Iterator[Timed]:
    from monitor.feeds.recorded import events, lines

    with feed.open("rb") as file:
        yield from by_wall(events(lines(file), rig.named_feeds[0][0]))


def _window(span: Span, since: str, until: str, run_in: str) -> tuple[float, float]:
    """The minutes asked for and what goes before them. Raises ValueError."""
    from monitor.quantities import read

    window = moment(since, span), moment(until, span)
    if not span.begins <= window[0] < window[1]:
        asked = f"--from {since} --to {until}"
        raise ValueError(f"{asked}: expected times in their order, within what is recorded, {span.said()}")
    return max(window[0] - read(run_in, "time"), span.begins), window[1]


def _write(rig: Rig, source: Source, window: tuple[float, float], out: Path, state: Path | None) -> int:
    from monitor.core import Core
    from monitor.wire.recorded import write_event

    core = None if state is None else Core(rig)
    take: Callable[[Event], Any] = (lambda event: None) if core is None else core.take
    told = 0
    with out.open("wb") as file:
        for event in cut(source.timed(*window), *window, take):
            if told == 0 and core is not None and state is not None:
                state.write_text(json.dumps(core.save()), "utf-8")
            file.write(write_event(event))
            told += 1
    return told
