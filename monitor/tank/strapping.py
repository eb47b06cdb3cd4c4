"""The strapping table: height of the water to its volume and back, with the slope between.

Between two rows the volume follows a cubic that keeps the table's order, so a table that rises never gives a volume
that falls, and the slope (the tank's plan area) has no jumps for a filter to stumble over.
"""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

Row = tuple[float, float]
Cubic = tuple[float, float, float, float]

SHORTFALL = 0.01
"""A table that ends less than this share short of the tank's capacity is extended up to it."""


class Strapping:
    """A table of (height in m, volume in l), rising in both, and what lies between its rows.

    Monotone piecewise cubic Hermite interpolation; slopes at the rows by the weighted harmonic mean, at the ends by the
    three-point rule that keeps the shape.

    Sources: F. N. Fritsch, R. E. Carlson, "Monotone Piecewise Cubic Interpolation", SIAM J. Numer. Anal. 17 (1980)
    238–246; F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300–304.
    """

    def __init__(self, rows: Sequence[Row]) -> None:
        """Raises ValueError for fewer than two rows, and for rows that do not rise in both columns."""
        self.rows: tuple[Row, ...] = tuple((float(height), float(volume)) for height, volume in rows)
        if len(self.rows) < 2:
            raise ValueError("a strapping table needs at least two rows")
        for fall in falling(self.rows):
            raise ValueError(f"row {fall + 1} of the strapping table does not rise above the row before it")
        self._heights = [height for height, _ in self.rows]
        self._volumes = [volume for _, volume in self.rows]
        self._slopes = _row_slopes(self._heights, self._volumes)
        self._gaps = [(high - low, more - less) for (low, less), (high, more) in pairwise(self.rows)]
        self._cubics = _cubics(self._heights, self._volumes, self._slopes)

    @classmethod
    def of_tank(cls, rows: Sequence[Row], capacity_l: float) -> "Strapping":
        """The table of a tank of this capacity: begun at the floor, and extended where it ends just short of full.

        A first row above the floor that holds water gets a row (0, 0) below it. Raises ValueError as above, and where
        the table ends 1 % or more short of `capacity_l`.
        """
        height_m, volume_l = rows[0]
        floor: list[Row] = [(0.0, 0.0)] if height_m > 0 and volume_l > 0 else []
        return cls([*floor, *rows]).reaching(capacity_l)

    @property
    def capacity_l(self) -> float:
        """What the tank holds at the table's last row; it may be more than the tank is rated for."""
        return self._volumes[-1]

    @property
    def top_m(self) -> float:
        """The height of the table's last row."""
        return self._heights[-1]

    def volume_l(self, height_m: float) -> float:
        """The volume at a height; below the first row and above the last, the volume of that row."""
        if height_m <= self._heights[0]:
            return self._volumes[0]
        if height_m >= self._heights[-1]:
            return self._volumes[-1]
        row = bisect_right(self._heights, height_m) - 1
        base, slope, second, third = self._cubics[row]
        step = height_m - self._heights[row]
        return base + step * (slope + step * (second + step * third))

    def slope_l_per_m(self, height_m: float) -> float:
        """dV/dh: the plan area at a height, in l/m (1000 l/m = 1 m²). Outside the table, the slope of its end.

        It may be 0 at the very bottom or top of a round tank: nobody should divide by it unguarded.
        """
        if height_m <= self._heights[0]:
            return self._slopes[0]
        if height_m >= self._heights[-1]:
            return self._slopes[-1]
        row = bisect_right(self._heights, height_m) - 1
        _, slope, second, third = self._cubics[row]
        step = height_m - self._heights[row]
        return slope + step * (2.0 * second + step * 3.0 * third)

    def height_m(self, volume_l: float) -> float:
        """The height at a volume: the inverse of `volume_l`. Outside the table, the height of its end."""
        if volume_l <= self._volumes[0]:
            return self._heights[0]
        if volume_l >= self._volumes[-1]:
            return self._heights[-1]
        row = bisect_right(self._volumes, volume_l) - 1
        return self._heights[row] + _root(self._cubics[row], volume_l, *self._gaps[row])

    def reaching(self, capacity_l: float) -> "Strapping":
        """This table, extended to `capacity_l` where it ends less than 1 % short of it.

        The added row goes on at the table's last slope, or at its mean slope where that is steeper (a lying cylinder
        closes to nothing at its top, and would be extended far above it). Raises ValueError where more is missing.
        """
        missing_l = capacity_l - self.capacity_l
        if missing_l <= 0:
            return self
        if missing_l >= SHORTFALL * capacity_l:
            raise ValueError(f"the table ends at {self.capacity_l:.1f} l, short of the capacity of {capacity_l:.1f} l")
        slope = max(_secant(self.rows[-2], self.rows[-1]), _secant(self.rows[0], self.rows[-1]))
        return Strapping([*self.rows, (self.top_m + missing_l / slope, capacity_l)])


def falling(rows: Sequence[Row]) -> list[int]:
    """The index of each row that does not rise above the one before it in both columns."""
    pairs = enumerate(pairwise(rows), 1)
    return [index for index, ((low, less), (high, more)) in pairs if not (high > low and more > less)]


def _secant(low: Row, high: Row) -> float:
    return (high[1] - low[1]) / (high[0] - low[0])


def _row_slopes(heights: list[float], volumes: list[float]) -> list[float]:
    """The slope at each row, in l/m."""
    steps = [high - low for low, high in pairwise(heights)]
    secants = [_secant(low, high) for low, high in pairwise(zip(heights, volumes, strict=True))]
    if len(steps) == 1:
        return [secants[0], secants[0]]
    inner = [_inner_slope(*steps[i : i + 2], *secants[i : i + 2]) for i in range(len(steps) - 1)]
    return [_end_slope(*steps[:2], *secants[:2]), *inner, _end_slope(*steps[:-3:-1], *secants[:-3:-1])]


def _inner_slope(step_before: float, step_after: float, before: float, after: float) -> float:
    """Fritsch and Butland's weighted harmonic mean of the secants on both sides, which are positive here."""
    weight_before, weight_after = 2 * step_after + step_before, step_after + 2 * step_before
    return (weight_before + weight_after) / (weight_before / before + weight_after / after)


def _end_slope(step: float, next_step: float, secant: float, next_secant: float) -> float:
    """The three-point slope at an end, held between 0 and three times the secant, so that the cubic still rises."""
    slope = ((2 * step + next_step) * secant - step * next_secant) / (step + next_step)
    return min(max(slope, 0.0), 3 * secant)


def _cubics(heights: list[float], volumes: list[float], slopes: list[float]) -> list[Cubic]:
    """For each gap between rows the coefficients of 1, s, s², s³, where s is the height above the lower row."""
    cubics = []
    for i in range(len(heights) - 1):
        step = heights[i + 1] - heights[i]
        secant = (volumes[i + 1] - volumes[i]) / step
        second = (3 * secant - 2 * slopes[i] - slopes[i + 1]) / step
        third = (slopes[i] + slopes[i + 1] - 2 * secant) / step**2
        cubics.append((volumes[i], slopes[i], second, third))
    return cubics


def _root(cubic: Cubic, volume_l: float, width_m: float, gained_l: float) -> float:
    """Where a rising cubic that gains `gained_l` on [0, width_m] reaches `volume_l`.

    Newton's steps from the straight line between the rows, halving where they leave the bracket.
    """
    base, slope, second, third = cubic
    low, high = 0.0, width_m
    step = width_m * (volume_l - base) / gained_l
    for _ in range(60):
        excess = base + step * (slope + step * (second + step * third)) - volume_l
        if excess > 0:
            high = step
        else:
            low = step
        steepness = slope + step * (2 * second + step * 3 * third)
        guess = step - excess / steepness if steepness > 0 else low
        if not low <= guess <= high:
            guess = (low + high) / 2
        if abs(guess - step) <= 1e-12 * width_m:
            return guess
        step = guess
    return step
