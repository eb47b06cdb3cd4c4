"""[[pump]] injector: the chemical line of a pump."""

from pydantic import Field

from monitor.rig.kinds import Flow, Table, Volume


class Injector(Table):
    """[[pump]] injector; what it draws is better measured by a draw-down than copied from a catalogue."""

    draws_l_min: Flow | None = Field(None, alias="draws", description='a flow such as "0.3 gpm"')
    tank_l: Volume | None = Field(None, alias="tank", description='the chemical tank\'s volume such as "5 gal"')
    strength: float | None = Field(None, gt=0, le=100, description="per cent of the active stuff in the chemical tank")
