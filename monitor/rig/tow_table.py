"""[tow]: what the trailer may weigh on the road, and what it weighs without water."""

from pydantic import Field

from monitor.planning.haul import Load
from monitor.rig.kinds import Mass, MassOrNone, Table

MASS = 'a mass such as "4500 lb"'


class Tow(Table):
    """[tow]; the hitch and the vehicle that tows may allow less than the plate."""

    rated_kg: Mass = Field(alias="rated", description=MASS)
    empty_kg: Mass = Field(alias="empty", description=MASS)
    fuel_kg: MassOrNone = Field(0.0, alias="fuel", description=MASS)
    chemical_kg: MassOrNone = Field(0.0, alias="chemical", description=MASS)

    @property
    def load(self) -> Load:
        return Load(self.rated_kg, self.empty_kg, self.fuel_kg, self.chemical_kg)
