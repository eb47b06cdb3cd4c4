"""[[service]]: what has to be done to an engine or pump, and how often. The maker's manual is the authority."""

from datetime import UTC, date, datetime, time
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from monitor.planning import upkeep
from monitor.rig.faults import fault, shown
from monitor.rig.kinds import Table, Text

DAYS_A_MONTH = 365.25 / 12.0
DATE = "a date such as 2026-03-01"


def _date(value: Any) -> date:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise fault(shown(value), DATE) from None
    if not isinstance(value, date) or isinstance(value, datetime):
        raise fault(shown(value), DATE)
    return value


class Service(Table):
    """[[service]]; with hours and months both, what comes first."""

    name: Text = Field(description='what is done, such as "engine oil"')
    pump: Text | None = Field(None, description="the pump whose engine hours count; left out: the one that ran most")
    every_hours: float | None = Field(None, gt=0, le=100_000, description="engine hours, by the maker's manual")
    every_months: float | None = Field(None, gt=0, le=1200, description="months, by the maker's manual")
    last_done: Annotated[date, BeforeValidator(_date)] | None = Field(None, description=DATE)

    @property
    def last_done_s(self) -> float:
        """Noon (UTC) of the day it was last done, Unix seconds; 0 where the file does not say."""
        return datetime.combine(self.last_done, time(12), UTC).timestamp() if self.last_done else 0.0

    @property
    def interval(self) -> upkeep.Service:
        days = None if self.every_months is None else self.every_months * DAYS_A_MONTH
        return upkeep.Service(self.name, self.every_hours, days)
