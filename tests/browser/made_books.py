"""A journal with a month of made-up days and jobs in it, for the pages of the books to show."""

from math import sin
from pathlib import Path

from monitor.changes import AlarmChange, Change, Forecast, JobDone, Tally
from monitor.journal.writer import Journal
from monitor.readings import Passing

BEGAN = 1_793_710_800.0  # 2026-11-03 07:00 in Chicago
DAYS = 20
SITES = ("North field", "Mill lane 14, behind the bakery", "Fairground")


def days() -> list[Change]:
    """Three hours of work on each of twenty days, a job each."""
    found: list[Change] = []
    for day in range(DAYS):
        began = BEGAN + 86_400.0 * day
        used = [240.0 + 90.0 * sin(day), 120.0 + 40.0 * sin(2 * day)]
        for n in range(12):
            end = began + 900.0 * (n + 1)
            pumps_l = {"Rides": used[0], "Stalls": used[1]}
            figures = {"watched_s": 900.0, "in_l": 0.8 * sum(used), "used_l": sum(used), "pumps_l": pumps_l}
            found.append(Tally(end, end - 900.0, {**figures, "chemical_l": {"Rides": 0.2 * (n % 3)}}))
        found += _alarms(began, day)
        found += _forecasts(began) if day == DAYS - 1 else []
        found.append(_job(began, day, used))
    return sorted(found, key=lambda change: change.at)


def _alarms(began: float, day: int) -> list[Change]:
    answered = [("acknowledged", 45.0, "Ann")] if day % 3 else []
    told = [("unacknowledged", 0.0, ""), *answered, ("normal", 400.0 + 10 * day, "")]
    name = "dry-soon" if day % 4 == 0 else "water-low"
    return [AlarmChange(began + 5000.0 + s, name, "high", state, by=by) for state, s, by in told]


def _forecasts(began: float) -> list[Change]:
    flows = (3.0, 18.0, 0.0, 18.0, {}, {}, None, None, None, "good", "good")
    return [Forecast(began + 10.0 * n, 700.0 + 350.0 * sin(n / 120.0), *flows) for n in range(1080)]


def _job(began: float, day: int, used: list[float]) -> JobDone:
    figures = {
        "site": SITES[day % 3], "by": "Ann", "began": began, "ended": began + 10_800.0, "watched_s": 10_800.0,
        "in_l": 9.6 * sum(used), "used_l": 12.0 * sum(used), "pumps_l": {"Rides": 12 * used[0], "Stalls": 12 * used[1]},
        "chemical_l": {"Rides": 2.4}, "alarms": 1, "answers": int(bool(day % 3)), "note": "gate code at the office",
    }  # fmt: skip
    return JobDone(began + 10_800.0, SITES[day % 3], began, figures)


def write(file: Path) -> None:
    ticks = iter(range(0, 10_000_000, 5))
    journal = Journal(file, lambda: float(next(ticks)))
    last = 0.0
    for change in days():
        if change.at > last:
            last = change.at
            journal.put(Passing(last))
        journal.put(change)
        journal.step()
    journal.close()
