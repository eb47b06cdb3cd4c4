"""The books: a month's water, a job's sheet, a site's record, as pages that print well and as CSV.

They are read from the journal in threads of their own. What a site has shown is the core's, and is asked of the daemon.
"""

from collections.abc import Callable, Iterator
from datetime import datetime, tzinfo
from typing import Annotated, Any, Literal, Protocol

import msgspec
from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse, Response, StreamingResponse

from monitor.alarms.rate import Stood, standings
from monitor.changes import AlarmChange
from monitor.core import Core
from monitor.journal.book import Day, book, book_csv, month_span, pumps_of, total
from monitor.journal.faults import JournalFault
from monitor.journal.jobs import jobs, jobs_csv
from monitor.rig.model import Rig
from monitor.rig.zone import zone_of

MOST_ALARMS = 400
MOST_MONTHS = 240
CHART_POINTS = 240
AROUND_S = 1.0
NO_MONTH = {"error": "that is no month", "do": "write it as 2026-11"}
NO_JOB = {"error": "no job ended then", "do": "choose one of those on /books"}
Month = Annotated[str, Query(max_length=7)]
Units = Annotated[Literal["us", "metric"] | None, Query()]


class Past(Protocol):
    """What is asked of the journal's past. Raises JournalFault."""

    def span(self) -> tuple[float, float] | None: ...
    def series(self, names: list[str], since: float, until: float, points: int) -> Any: ...
    def alarms(self, since: float, until: float) -> list[AlarmChange]: ...


class BooksDesk(Protocol):
    """What the books ask of the daemon."""

    rig: Rig
    core: Core

    @property
    def history(self) -> Any: ...


def books_routes(page: Callable[[str], Response], desk: BooksDesk) -> APIRouter:
    """`page` answers with a file of the dashboards."""
    router = APIRouter()
    for path in ("/books", "/sites"):
        router.add_api_route(path, lambda: page("books/index.html"), include_in_schema=False)

    @router.get("/api/books")
    def month(month: Month = "") -> Response:
        """A month's book: its days, its jobs, its alarms and answers. Without a month, the latest."""
        return _answer(lambda: _month(desk, month))

    @router.get("/api/books/job")
    def job(ended: Annotated[float, Query(ge=0, le=1e11)]) -> Response:
        """One job's sheet, by when it ended (Unix seconds)."""
        return _answer(lambda: _job(desk, ended))

    @router.get("/api/books/days.csv")
    def days_csv(month: Month = "", units: Units = None) -> Response:
        """A month's days as CSV, or all there are; units in the headings."""
        return _csv(f"days-{month or 'all'}.csv", lambda: _days_csv(desk, month, units))

    @router.get("/api/books/jobs.csv")
    def job_table(month: Month = "", units: Units = None) -> Response:
        """A month's jobs as CSV, or all there are; units in the headings."""
        return _csv(f"jobs-{month or 'all'}.csv", lambda: _jobs_csv(desk, month, units))

    @router.get("/api/sites")
    async def sites() -> Response:
        """Every site, the latest visited first: its tap by hour of the day (UTC), its hose, its notes."""
        known = [{"site": name, **site} for name, site in reversed(list(desk.core.jobs.sites.items()))]
        return _encoded({"rig": _rig(desk.rig), "sites": known})

    @router.get("/api/sites/jobs")
    def jobs_at(site: Annotated[str, Query(max_length=400)]) -> Response:
        """The jobs that were finished at a site."""
        return _answer(lambda: [job for job in jobs(desk.rig.journal.file) if job.get("site") == site])

    return router


def _answer(ask: Callable[[], Any]) -> Response:
    try:
        return _encoded(ask())
    except JournalFault as fault:
        return JSONResponse({"error": fault.why, "do": fault.do}, 503)
    except LookupError:
        return JSONResponse(NO_JOB, 404)
    except ValueError:
        return JSONResponse(NO_MONTH, 422)


def _csv(name: str, ask: Callable[[], Iterator[str]]) -> Response:
    try:
        lines = ask()
    except JournalFault as fault:
        return JSONResponse({"error": fault.why, "do": fault.do}, 503)
    except ValueError:
        return JSONResponse(NO_MONTH, 422)
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return StreamingResponse(lines, media_type="text/csv; charset=utf-8", headers=headers)


def _encoded(said: Any) -> Response:
    return Response(msgspec.json.encode(said), media_type="application/json")


def _rig(rig: Rig) -> dict[str, Any]:
    about, tank = rig.about, rig.tank
    return {
        "name": about.name, "units": about.units, "language": about.language, "timezone": about.timezone,
        "pumps": [pump.name for pump in rig.pumps], "heel_l": tank.heel_l, "full_l": tank.full_l,
        "capacity_l": tank.capacity_l, "metered": rig.supply is not None and rig.supply.reading is not None,
    }  # fmt: skip


def _month(desk: BooksDesk, asked: str) -> dict[str, Any]:
    rig, zone = desk.rig, zone_of(desk.rig.about.timezone)
    months = _months(desk.history.span(), zone)
    month = asked or (months[-1] if months else datetime.now(zone).strftime("%Y-%m"))
    since, until = month_span(month, zone)
    days = book(rig.journal.file, zone, since, until)
    stood = _stood(desk.history, since, until)
    return {
        "rig": _rig(rig), "month": month, "months": months[-MOST_MONTHS:], "since": since, "until": until,
        "pumps": pumps_of(days, [pump.name for pump in rig.pumps]),
        "days": [_day(day) for day in days], "sum": _day(total(days)),
        "jobs": jobs(rig.journal.file, since, until),
        "alarms": [each._asdict() for each in stood[:MOST_ALARMS]], "left_out": max(0, len(stood) - MOST_ALARMS),
    }  # fmt: skip


def _months(span: tuple[float, float] | None, zone: tzinfo) -> list[str]:
    """Every month the journal tells of."""
    if span is None:
        return []
    first, last = (datetime.fromtimestamp(at, zone) for at in span)
    many = 12 * (last.year - first.year) + last.month - first.month + 1
    places = range(first.year * 12 + first.month - 1, first.year * 12 + first.month - 1 + max(1, min(many, 12_000)))
    return [f"{place // 12:04}-{place % 12 + 1:02}" for place in places]


def _day(day: Day) -> dict[str, Any]:
    return {**vars(day), "untold_l": round(max(0.0, day.untold_l), 2)}


def _stood(past: Past, since: float, until: float) -> list[Stood]:
    return [each for each in standings(past.alarms(since, until)) if each.begun >= since]


def _job(desk: BooksDesk, ended: float) -> dict[str, Any]:
    """Raises LookupError where no job ended then."""
    found = jobs(desk.rig.journal.file, ended - AROUND_S, ended + AROUND_S)
    if not found:
        raise LookupError
    job = found[0]
    since, until = job["began"], job["ended"]
    series = desk.history.series(["rig/volume"], since, max(until, since + 60.0), CHART_POINTS)
    stood = _stood(desk.history, since, until)
    return {
        "rig": _rig(desk.rig), "job": job, "site": dict(desk.core.jobs.sites.get(job["site"], {})),
        "water": [[round(p.at, 1), round(p.mean, 1)] for line in series for p in line.points],
        "alarms": [each._asdict() for each in stood[:MOST_ALARMS]],
    }  # fmt: skip


def _window(rig: Rig, month: str) -> tuple[float, float] | tuple[None, None]:
    return month_span(month, zone_of(rig.about.timezone)) if month else (None, None)


def _days_csv(desk: BooksDesk, month: str, units: Literal["us", "metric"] | None) -> Iterator[str]:
    rig = desk.rig
    days = book(rig.journal.file, zone_of(rig.about.timezone), *_window(rig, month))
    return book_csv(days, [pump.name for pump in rig.pumps], units or rig.about.units)


def _jobs_csv(desk: BooksDesk, month: str, units: Literal["us", "metric"] | None) -> Iterator[str]:
    rig = desk.rig
    found, names = jobs(rig.journal.file, *_window(rig, month)), [pump.name for pump in rig.pumps]
    return jobs_csv(found, names, zone_of(rig.about.timezone), units or rig.about.units)
