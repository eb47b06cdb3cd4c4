"""The days of the rig's time zone, for what is counted by the day."""

from datetime import datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo


class Day(NamedTuple):
    """A date, and from when to when it lasts in wall time, Unix seconds: 23 to 25 hours where clocks are put on."""

    date: str
    began: float
    ends: float


class Days:
    def __init__(self, timezone: str | None) -> None:
        """None: the system's."""
        self.zone = None if timezone is None else ZoneInfo(timezone)

    def of(self, wall: float) -> Day:
        """The day that holds `wall`."""
        date = datetime.fromtimestamp(wall, self.zone).date()
        midnights = [datetime.combine(each, time.min, self.zone) for each in (date, date + timedelta(days=1))]
        return Day(date.isoformat(), *(each.timestamp() for each in midnights))
