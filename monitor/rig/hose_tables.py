"""A hose from a pump to its gun."""

from pydantic import Field

from monitor.planning import hoses
from monitor.rig.kinds import HoseLength, Length, Pressure, Table


class Hose(Table):
    """[[pump]] hose: bore, length of all reels in use together, and the pressure the maker rates it for."""

    bore_m: Length = Field(alias="bore", description='an inner diameter such as "3/8 in" or "0.375 in"')
    length_m: HoseLength = Field(alias="length", description='a length such as "150 ft"')
    rated_pa: Pressure | None = Field(None, alias="rated", description='a pressure such as "4000 psi"')

    @property
    def volume_l(self) -> float:
        """What stands in the hose, in litres."""
        return hoses.volume_l(self.bore_m, self.length_m)

    def clear_s(self, flow_l_min: float) -> float:
        """Seconds until a change at the pump is at the gun: plug flow, volume by flow. `flow_l_min` above 0."""
        return hoses.transit_s(self.bore_m, self.length_m, flow_l_min)
