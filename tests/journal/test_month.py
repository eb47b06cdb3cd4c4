"""A short month of simulated work, its book held against the truth; the long one is `tests.benchmarks.month_book`."""

from zoneinfo import ZoneInfo

import pytest

from monitor.journal.book import book, total
from tests.benchmarks.month_book import METER_ERROR, month, without_raw

CHICAGO = ZoneInfo("America/Chicago")
UNHEARD = 10.0 / 900.0  # of a quarter of an hour, until the first readings of a day are in


def test_the_book_agrees_with_the_world_within_the_meters_error_and_outlasts_the_raw_readings(tmp_path):
    """What was used needs longer than this to be known as well: at first the rates are those of the rig file."""
    file = tmp_path / "holdwater.db"
    lived = list(month(file, days=3, hours=0.26))
    days = book(file, CHICAGO)
    assert [day.day for day in days] == ["2026-11-03", "2026-11-04", "2026-11-05"]
    whole = total(days)
    assert whole.in_l == pytest.approx(sum(day.in_l for day in lived), rel=METER_ERROR + UNHEARD)
    assert whole.used_l == pytest.approx(sum(day.used_l for day in lived), rel=0.06)
    assert whole.used_l == pytest.approx(sum(whole.pumps_l.values()), rel=0.01)
    kept = without_raw(file, CHICAGO)
    for before, after in zip(days[:-1], kept, strict=False):
        assert after.used_l == pytest.approx(before.used_l, abs=0.1), "a row was given out for all of that day"
