"""[[service]]: what has to be done to an engine or pump, and how often. The maker's manual is the authority."""

from pydantic import Field

from monitor.planning import upkeep
from monitor.rig.kinds import Table, Text

DAYS_A_MONTH = 365.25 / 12.0


class Service(Table):
    """[[service]]; with hours and months both, what comes first."""

    name: Text = Field(description='what is done, such as "engine oil"')
    pump: Text | None = Field(None, description="the pump whose engine hours count; left out: the one that ran most")
    every_hours: float | None = Field(None, gt=0, le=100_000, description="engine hours, by the maker's manual")
    every_months: float | None = Field(None, gt=0, le=1200, description="months, by the maker's manual")

    @property
    def interval(self) -> upkeep.Service:
        days = None if self.every_months is None else self.every_months * DAYS_A_MONTH
        return upkeep.Service(self.name, self.every_hours, days)
