"""From what a level sensor says to a height in the tank, with what the surroundings say of air, water and slope."""

from monitor.readings import Record
from monitor.rig.tank_tables import LevelSignal
from monitor.tank.level import Around, level, middle_height_m, slope
from monitor.tank.strapping import Strapping

BELOW_M, ABOVE_M = 0.05, 0.10  # past the ends of the table by more than this, a height is no level
UNITS = {"height": "m", "distance": "m", "pressure": "Pa", "current": "A", "volume": "l"}


class Surroundings:
    """The latest slope, temperatures, barometer and suction pressures."""

    def __init__(self) -> None:
        self._values: dict[tuple[str, str], float] = {}

    def take(self, kind: str, subject: str, record: Record) -> None:
        if isinstance(record.value, float):
            value = slope(record.value, record.unit) if kind == "slope" else record.value
            self._values[kind, subject] = value

    def get(self, kind: str, subject: str = "") -> float | None:
        return self._values.get((kind, subject))

    def around(self) -> Around:
        return Around(self.get("water_temperature"), self.get("air_temperature"), self.get("barometer"))


def height_m(sensor: LevelSignal, record: Record, around: Surroundings, table: Strapping) -> float | None:
    """The height at the tank's middle (m), or None: outside the sensor's range, or in a wrong unit."""
    if not isinstance(record.value, float) or record.unit != UNITS[sensor.measures]:
        return None
    height = level(sensor, record.value, around.around(), table).height_m
    if height is None:
        return None
    nose_up = around.get("slope")
    if nose_up is not None:
        height = middle_height_m(height, sensor.ahead_m, nose_up)
    return height if -BELOW_M <= height <= table.top_m + ABOVE_M else None
