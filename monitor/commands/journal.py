"""``journal``: what is in it, and out of it."""

from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

import click

from monitor.commands.arguments import FILE, loaded
from monitor.rig.model import Rig
from monitor.rig.zone import zone_of


@click.command()
@click.argument("rig", type=FILE)
@click.option("--check", is_flag=True, help="Read all of it and say what is broken.")
@click.option("--backup", type=FILE, help="Copy it there, also while the daemon runs.")
@click.option("--feed", type=FILE, help="Write there the feed as it came, to be replayed.")
@click.option("--csv", type=click.Choice(["readings", "forecasts", "alarms", "days", "jobs"]), help="Print a table.")
@click.option("--month", help="Of days and jobs only a month's, such as 2026-11.")
def journal(
    rig: Path, check: bool, backup: Path | None, feed: Path | None, csv: str | None, month: str | None
) -> None:
    """Say what is in the journal of RIG, how big it is, and how much a day adds; or give it out."""
    from monitor.journal import describe, export
    from monitor.journal.faults import JournalFault

    known = loaded(rig)
    file = known.journal.file
    try:
        if backup is not None:
            export.backup(file, backup)
        if feed is not None:
            with feed.open("wb") as out:
                out.writelines(export.recorded(file))
        if check:
            _say_broken(describe.check(file))
        if csv is not None:
            for line in _table(csv, known, month):
                click.echo(line, nl=False)
        if not (check or backup or feed or csv):
            click.echo(describe.summary(file, ZoneInfo(known.about.timezone or "UTC")), nl=False)
    except JournalFault as fault:
        raise click.ClickException(str(fault)) from None
    except OSError as error:
        raise click.ClickException(f"{error.filename}: {error.strerror}. Check the file and the disk.") from None


def _table(csv: str, rig: Rig, month: str | None) -> Iterator[str]:
    from monitor.journal import export

    if csv in ("days", "jobs"):
        return _books(csv, rig, month)
    tables = {"readings": export.readings_csv, "forecasts": export.forecasts_csv, "alarms": export.alarms_csv}
    return tables[csv](rig.journal.file)


def _books(csv: str, rig: Rig, month: str | None) -> Iterator[str]:
    from monitor.journal.book import book, book_csv, month_span
    from monitor.journal.jobs import jobs, jobs_csv

    zone = zone_of(rig.about.timezone)
    try:
        since, until = (None, None) if month is None else month_span(month, zone)
    except ValueError:
        raise click.ClickException(f"{month} is no month; write it as 2026-11.") from None
    names, file = [pump.name for pump in rig.pumps], rig.journal.file
    if csv == "days":
        return book_csv(book(file, zone, since, until), names, rig.about.units)
    return jobs_csv(jobs(file, since, until), names, zone, rig.about.units)


def _say_broken(broken: list[str]) -> None:
    for each in broken:
        click.echo(each)
    if broken:
        raise click.exceptions.Exit(1)
    click.echo("All of it can be read.")
