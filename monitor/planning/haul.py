"""What may be towed: the plate's rating less all that is not water.

This is arithmetic with the owner's figures. A part-full tank without baffles surges, and the weight on the tongue
matters as much as the weight on the axles: the makers' limits for trailer, hitch and vehicle, and the law, come first.
"""

from typing import NamedTuple


class Load(NamedTuple):
    """In kg. `rated_kg`: the trailer's plate; the hitch or the vehicle may allow less."""

    rated_kg: float
    empty_kg: float
    fuel_kg: float = 0.0
    chemical_kg: float = 0.0

    @property
    def left_kg(self) -> float:
        """For water; below nothing where the rig is too heavy without any."""
        return self.rated_kg - self.empty_kg - self.fuel_kg - self.chemical_kg


def water_kg(volume_l: float, density_kg_m3: float) -> float:
    return volume_l * density_kg_m3 / 1000.0


def most_water_l(load: Load, density_kg_m3: float) -> float:
    """The most water the plate leaves room for, 0 where none."""
    return max(0.0, 1000.0 * load.left_kg / density_kg_m3)


def surges(volume_l: float, capacity_l: float) -> bool:
    """A tank between a fifth and nine tenths full moves the most on the road; common practice, no published source."""
    return 0.2 * capacity_l <= volume_l <= 0.9 * capacity_l
