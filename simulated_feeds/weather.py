"""The day's weather: air over the day, and the water in the tank between the main and the air."""

from dataclasses import dataclass
from math import cos, pi


@dataclass
class Weather:
    """Temperatures in °C: the coldest hour is about three in the morning, the warmest about three in the afternoon."""

    low_c: float = 14.0
    high_c: float = 27.0
    main_c: float = 14.0
    begins_s: float = 8 * 3600.0
    barometer_pa: float = 101_325.0
    shift_c: float = 0.0
    """A cold spell that a fault brings."""

    def air_c(self, at_s: float) -> float:
        hour = (self.begins_s + at_s) / 3600.0
        middle, swing = (self.low_c + self.high_c) / 2, (self.high_c - self.low_c) / 2
        return middle + self.shift_c + swing * cos((hour - 15.0) / 24.0 * 2 * pi)

    def water_c(self, at_s: float) -> float:
        """Tank water lags the air by about two hours, is half main water, and is no colder than ice."""
        return max(0.5 * self.main_c + 0.5 * self.air_c(at_s - 7200.0), 0.0)

    def pressure_pa(self, at_s: float) -> float:
        """The air's pressure, with the twice-daily tide of about a hectopascal."""
        return self.barometer_pa + 60.0 * cos((self.begins_s + at_s) / 3600.0 / 12.0 * 2 * pi)
