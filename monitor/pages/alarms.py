"""The alarm page: how many alarms were too many, what each was, and the catalogue they come from."""

import math
from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse, Response

from monitor.alarms import rate
from monitor.alarms.attention import RELEASE
from monitor.alarms.catalogue import ALARMS
from monitor.changes import AlarmChange
from monitor.journal.faults import JournalFault

BEFORE_S = 24 * 3600.0
"""So far back an alarm may have been raised and still have stood when the window began."""
MOST_STOOD = 500
MOST_HOURS = 24 * 31


def alarm_routes(
    page: Callable[[str], Response],
    wall: Callable[[], float],
    alarms: Callable[[float, float], list[AlarmChange]],
) -> APIRouter:
    """`alarms` reads the journal between two times (Unix seconds); `wall` is now."""
    routes = APIRouter()

    @routes.get("/alarms", include_in_schema=False)
    def alarm_page() -> Response:
        return page("alarms/index.html")

    @routes.get("/api/alarms/catalogue")
    async def catalogue() -> list[dict[str, Any]]:
        """Every alarm: how urgent, how long there is, how it settles, what quietens it. The words: /api/words/en."""
        return [_entry(name) for name in ALARMS]

    @routes.get("/api/alarms/record")
    def record(hours: float = Query(24.0, gt=0, le=MOST_HOURS)) -> Response:
        """The last hours held against the yardstick of EEMUA 191, and each time that an alarm stood."""
        end = wall()
        start = end - 3600.0 * hours
        try:
            report = rate.report(alarms(start - BEFORE_S, end + 1.0), start, end)
        except JournalFault as fault:
            return JSONResponse({"error": fault.why, "do": fault.do}, 503)
        return JSONResponse(_shown(report))

    return routes


def _entry(name: str) -> dict[str, Any]:
    alarm = ALARMS[name]  # type: ignore[index]
    return {
        "alarm": name,
        "priority": alarm.priority,
        "respond_s": alarm.respond_s,
        "on_delay_s": alarm.on_delay_s,
        "off_delay_s": alarm.off_delay_s,
        "shelve_max_s": alarm.shelve_max_s,
        "release": name in RELEASE,
        "quiet_when": sorted(alarm.quiet_when),
        "follows": list(dict.fromkeys(how.cause for how in alarm.follows)),
    }


def _shown(report: rate.Report) -> dict[str, Any]:
    stood = [one._asdict() for one in report.stood[-MOST_STOOD:]]
    return {
        **report._asdict(),
        "floods": [one._asdict() for one in report.floods],
        "offenders": [one._asdict() for one in report.offenders],
        "stood": stood,
        "left_out": len(report.stood) - len(stood),
        "yardstick": {
            "acceptable": rate.ACCEPTABLE_IN_TEN_MIN,
            "manageable": rate.MANAGEABLE_IN_TEN_MIN,
            "flood": rate.FLOOD_OVER,
        },
        "ten_minutes": _bars(report),
    }


def _bars(report: rate.Report) -> list[int]:
    """How many alarms were told in each ten minutes, or in each of 144 equal parts where that is longer."""
    parts = min(144, math.ceil((report.end - report.start) / rate.TEN_MINUTES_S))
    bars = [0] * parts
    for one in report.stood:
        if one.begun >= report.start:
            bars[min(parts - 1, int((one.begun - report.start) / (report.end - report.start) * parts))] += 1
    return bars
