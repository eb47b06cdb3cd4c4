"""Engine hours, and those of the day: the page says "today", and means the day of the rig's own time zone."""

from datetime import UTC, datetime

import pytest

from monitor.balance.pumps import PumpWatch
from monitor.core.hours import Hours
from monitor.rig.days import Days

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC).timestamp()
HOUR_S = 3600.0


def run(hours: Hours, from_wall: float, for_s: float) -> None:
    pump = PumpWatch("Rides", 22.7)
    pump.tell(0.0, running=True, drawing=False)
    for second in range(int(for_s)):
        hours.tick(from_wall + second, 1.0, [pump], [0.0])


def test_a_new_day_begins_at_nought_and_the_hours_go_on() -> None:
    hours = Hours("UTC")
    run(hours, NOON + 11.5 * HOUR_S, HOUR_S)
    assert hours.today_s("Rides") == 0.5 * HOUR_S
    assert hours.ran_s["Rides"] == HOUR_S


def test_the_day_is_that_of_the_rig() -> None:
    """Noon of Greenwich is 6 a.m. in Chicago: midnight there comes 18 hours later."""
    hours = Hours("America/Chicago")
    run(hours, NOON + 18 * HOUR_S - 60, 120)
    assert hours.today_s("Rides") == 60.0


def test_a_restart_at_noon_forgets_no_morning() -> None:
    before = Hours("UTC")
    run(before, NOON, 600)
    after = Hours("UTC")
    after.restore(before.save())
    run(after, NOON + 700, 100)
    assert after.today_s("Rides") == 700.0


def test_a_computer_without_a_clock_battery_starts_in_another_year_and_the_day_goes_on() -> None:
    hours = Hours("UTC")
    run(hours, NOON, 600)
    run(hours, 1000.0, 60)
    assert hours.today_s("Rides") == 60.0
    run(hours, NOON + 700, 100)
    assert hours.today_s("Rides") == 760.0


def test_days_long_past_are_let_go() -> None:
    hours = Hours("UTC")
    for day in range(10):
        run(hours, NOON + 24 * HOUR_S * day, 10)
    assert len(hours.save()["days"]) == 3
    assert hours.today_s("Rides") == 10.0


def test_what_was_kept_before_days_were_is_read() -> None:
    hours = Hours("UTC")
    hours.restore({"ran_s": {"Rides": 5000.0}, "drew_s": {"Rides": 4000.0}})
    run(hours, NOON, 10)
    assert hours.today_s("Rides") == 10.0


@pytest.mark.parametrize(("date", "long_h"), [("2026-03-08", 23), ("2026-11-01", 25), ("2026-11-25", 24)])
def test_a_day_on_which_clocks_are_put_on_or_back(date: str, long_h: int) -> None:
    """In the United States on the second Sunday of March and the first of November: 15 U.S.C. 260a."""
    day = Days("America/Chicago").of(datetime.fromisoformat(f"{date}T18:00:00+00:00").timestamp())
    assert (day.date, (day.ends - day.began) / HOUR_S) == (date, long_h)
