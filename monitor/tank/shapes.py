"""Tanks built from their dimensions: each knows its plan area and its width at every height.

A shape makes a strapping table once, at the start; from then on only the table is used. Heights are counted from the
lowest point of the inside. Lengths in metres, areas in square metres, volumes in litres.

Check values: D. Jones, "Computing Fluid Tank Volumes"; Perry's Chemical Engineers' Handbook, partial volumes of
horizontal cylinders; the fluids library (all in ``tests/tank/test_shapes.py``).
"""

from dataclasses import dataclass
from itertools import pairwise
from math import pi, sqrt
from typing import ClassVar, Protocol

from monitor.tank.heads import End, Head
from monitor.tank.integral import bent, integral, integrals
from monitor.tank.strapping import Row, Strapping

ROWS_A_PIECE = 64
OUTLINE_POINTS_A_PIECE = 24


class Shape(Protocol):
    """What every shape gives."""

    kind: ClassVar[str]

    @property
    def bounds_m(self) -> tuple[float, ...]:
        """The floor, every height where the shape changes its law, and the top; rising."""

    def plan_m2(self, height_m: float) -> float:
        """The area of the water's surface at a height."""

    def seen_width_m(self, height_m: float) -> float:
        """How wide the tank looks at a height, seen from its end (a standing tank: from its side)."""


@dataclass(frozen=True)
class HorizontalCylinder:
    """A lying cylinder, both ends alike. `length_m` is the straight part, the ends come on top of it."""

    kind: ClassVar[str] = "horizontal cylinder"
    diameter_m: float
    length_m: float
    ends: End = "flat"
    end_depth_m: float | None = None

    def __post_init__(self) -> None:
        self._head()

    def _head(self) -> Head:
        return Head(self.ends, self.diameter_m / 2, self.end_depth_m)

    @property
    def bounds_m(self) -> tuple[float, ...]:
        radius = self.diameter_m / 2
        seam = self._head().seam_radius_m
        return tuple(sorted({0.0, radius - seam, radius, radius + seam, self.diameter_m}))

    def plan_m2(self, height_m: float) -> float:
        off_axis = height_m - self.diameter_m / 2
        return self.seen_width_m(height_m) * self.length_m + 2 * self._head().slice_m2(off_axis)

    def seen_width_m(self, height_m: float) -> float:
        return _chord(self.diameter_m, height_m)


@dataclass(frozen=True)
class VerticalCylinder:
    """A standing cylinder. `height_m` is the straight part, bottom and top come on top of it."""

    kind: ClassVar[str] = "vertical cylinder"
    diameter_m: float
    height_m: float
    bottom: End = "flat"
    bottom_depth_m: float | None = None
    top: End = "flat"
    top_depth_m: float | None = None

    def __post_init__(self) -> None:
        self._heads()

    def _heads(self) -> tuple[Head, Head]:
        radius = self.diameter_m / 2
        return Head(self.bottom, radius, self.bottom_depth_m), Head(self.top, radius, self.top_depth_m)

    @property
    def bounds_m(self) -> tuple[float, ...]:
        bottom, top = self._heads()
        shoulder = bottom.depth_m + self.height_m
        summit = shoulder + top.depth_m
        return tuple(sorted({0.0, bottom.seam_m, bottom.depth_m, shoulder, summit - top.seam_m, summit}))

    def plan_m2(self, height_m: float) -> float:
        return pi / 4 * self.seen_width_m(height_m) ** 2

    def seen_width_m(self, height_m: float) -> float:
        bottom, top = self._heads()
        from_top = bottom.depth_m + self.height_m + top.depth_m - height_m
        if height_m < bottom.depth_m:
            return 2 * bottom.radius_at(height_m)
        return 2 * top.radius_at(from_top) if from_top < top.depth_m else self.diameter_m


@dataclass(frozen=True)
class _Upright:
    """A standing tank, the same seen from above at every height, with a flat floor."""

    length_m: float
    width_m: float
    height_m: float

    @property
    def bounds_m(self) -> tuple[float, ...]:
        return 0.0, self.height_m

    def seen_width_m(self, height_m: float) -> float:
        return self.width_m


@dataclass(frozen=True)
class Box(_Upright):
    """A tank of six flat sides."""

    kind: ClassVar[str] = "box"

    def plan_m2(self, height_m: float) -> float:
        return self.length_m * self.width_m


@dataclass(frozen=True)
class UprightElliptical(_Upright):
    """A standing tank, an ellipse seen from above."""

    kind: ClassVar[str] = "upright elliptical"

    def plan_m2(self, height_m: float) -> float:
        return pi / 4 * self.length_m * self.width_m


@dataclass(frozen=True)
class UprightObround(_Upright):
    """A standing tank, an obround seen from above."""

    kind: ClassVar[str] = "upright obround"

    def plan_m2(self, height_m: float) -> float:
        short, long = sorted((self.length_m, self.width_m))
        return (long - short) * short + pi / 4 * short**2


@dataclass(frozen=True)
class Elliptical:
    """A lying tank of elliptical cross-section with flat ends."""

    kind: ClassVar[str] = "elliptical"
    width_m: float
    height_m: float
    length_m: float

    @property
    def bounds_m(self) -> tuple[float, ...]:
        return 0.0, self.height_m

    def plan_m2(self, height_m: float) -> float:
        return self.length_m * self.seen_width_m(height_m)

    def seen_width_m(self, height_m: float) -> float:
        return self.width_m / self.height_m * _chord(self.height_m, height_m)


@dataclass(frozen=True)
class Obround:
    """A lying tank of obround cross-section with flat ends: two half circles joined by straight lines.

    Wider than high, the half circles are its sides; higher than wide, its floor and its crown. No ellipse: filled
    to 6 in of 27 in, 44 in wide, an ellipse of the same width and height holds 21.5 % less.
    """

    kind: ClassVar[str] = "obround"
    width_m: float
    height_m: float
    length_m: float

    @property
    def bounds_m(self) -> tuple[float, ...]:
        radius = min(self.width_m, self.height_m) / 2
        return tuple(sorted({0.0, radius, self.height_m - radius, self.height_m}))

    def plan_m2(self, height_m: float) -> float:
        return self.length_m * self.seen_width_m(height_m)

    def seen_width_m(self, height_m: float) -> float:
        if self.width_m >= self.height_m:
            return self.width_m - self.height_m + _chord(self.height_m, height_m)
        from_end = min(height_m, self.height_m - height_m, self.width_m / 2)
        return _chord(self.width_m, from_end)


SHAPES: tuple[type[Shape], ...] = (
    HorizontalCylinder,
    VerticalCylinder,
    Box,
    Elliptical,
    Obround,
    UprightElliptical,
    UprightObround,
)


def volume_l(shape: Shape, height_m: float) -> float:
    """The volume up to a height, V = ∫ A(h) dh, good to 1e-7; 0 below the floor, the whole above the top."""
    bounds = [bound for bound in shape.bounds_m if bound < height_m]
    ends = [*bounds, min(height_m, shape.bounds_m[-1])]
    return 1000 * sum(integral(shape.plan_m2, low, high, ROWS_A_PIECE) for low, high in pairwise(ends))


def rows(shape: Shape) -> list[Row]:
    """The strapping table of a shape: rows (height in m, volume in l), close together where the shape turns."""
    table: list[Row] = [(shape.bounds_m[0], 0.0)]
    for low, high in pairwise(shape.bounds_m):
        parts = integrals(shape.plan_m2, low, high, ROWS_A_PIECE)
        for height, part in zip(bent(low, high, ROWS_A_PIECE)[1:], parts, strict=True):
            table.append((height, table[-1][1] + 1000 * part))
    return table


def outline(shape: Shape) -> list[tuple[float, float]]:
    """[(height in m, full width in m), …], rising: the tank's true silhouette seen from its end, to draw it by."""
    heights = [0.0]
    for low, high in pairwise(shape.bounds_m):
        heights += bent(low, high, OUTLINE_POINTS_A_PIECE)[1:]
    return [(height, shape.seen_width_m(height)) for height in heights]


def table_outline(table: Strapping) -> list[tuple[float, float]]:
    """A silhouette for a tank known only by its table: as wide as its plan area says, if it were square on average.

    The true shape is not known; the drawn area below a height is in proportion to the volume there.
    """
    bottom, top = table.rows[0], table.rows[-1]
    mean_l_per_m = (top[1] - bottom[1]) / (top[0] - bottom[0])
    side_m = sqrt(mean_l_per_m / 1000)
    steps = [bottom[0] + (top[0] - bottom[0]) * i / 48 for i in range(49)]
    return [(height, table.slope_l_per_m(height) / 1000 / side_m) for height in steps]


def _chord(diameter_m: float, height_m: float) -> float:
    """The width of a circle at a height above its lowest point: 2 √(h (D - h))."""
    return 2 * sqrt(max(height_m * (diameter_m - height_m), 0.0))
