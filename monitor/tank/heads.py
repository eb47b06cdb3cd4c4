"""The ends of a cylindrical tank: flat, dished, elliptical, hemispherical, spherical, conical.

A head closes a cylinder of radius R and reaches a depth a beyond it. Standing, it has a radius at each height; lying,
a slice at each height, of which the area is wanted. Lengths in metres, areas in square metres.

Dished means ASME flanged and dished (torispherical): dish radius D, knuckle radius 0.06 D, and from these the
depth 0.1693 D. (0.193 D, often met beside it, belongs to DIN 28011.)

Sources: D. Jones, "Computing Fluid Tank Volumes" (the shapes and their check values); ASME Boiler and Pressure Vessel
Code VIII-1, UG-32 (dish radius at most D, knuckle at least 0.06 D).
"""

from dataclasses import dataclass
from itertools import pairwise
from math import acosh, asin, hypot, pi, sqrt
from typing import Literal, get_args

from monitor.tank.integral import integral

End = Literal["flat", "dished", "elliptical", "hemispherical", "spherical", "conical"]
ENDS: tuple[End, ...] = get_args(End)

KNUCKLE = 0.06
"""Knuckle radius of an ASME flanged and dished head, as a share of the diameter."""


@dataclass(frozen=True)
class Head:
    """One end of a cylinder of this radius. `depth_m` None: what the kind has by its standard.

    Raises ValueError for a conical or spherical end (a cap without knuckle) without a depth, for a spherical one
    deeper than its radius, and for a depth given where the kind fixes it.
    """

    kind: End
    radius_m: float
    given_depth_m: float | None = None

    def __post_init__(self) -> None:
        if self.kind in ("conical", "spherical") and self.given_depth_m is None:
            raise ValueError(f"a {self.kind} end needs its depth")
        if self.kind == "spherical" and self.depth_m > self.radius_m:
            raise ValueError("a spherical end has a depth of at most its radius")
        if self.kind in ("flat", "dished", "hemispherical") and self.given_depth_m is not None:
            raise ValueError(f"a {self.kind} end has a depth of its own")

    @property
    def depth_m(self) -> float:
        """How far the end reaches beyond the cylinder: 0, 0.1693 D, D/4 (2:1 elliptical), D/2, or as given."""
        if self.given_depth_m is not None:
            return self.given_depth_m
        dish, knuckle = 2 * self.radius_m, self._knuckle_m
        dished = dish - sqrt((dish - knuckle) ** 2 - (self.radius_m - knuckle) ** 2)
        return {"dished": dished, "elliptical": self.radius_m / 2, "hemispherical": self.radius_m}.get(self.kind, 0.0)

    @property
    def _sphere_m(self) -> float:
        """The radius of the sphere a spherical end is cut from."""
        return (self.radius_m**2 + self.depth_m**2) / (2 * self.depth_m)

    @property
    def _knuckle_m(self) -> float:
        return 2 * self.radius_m * KNUCKLE

    @property
    def seam_radius_m(self) -> float:
        """How far from the axis dish and knuckle of a dished end meet; 0 for the other kinds, which have no seam."""
        dish, knuckle = 2 * self.radius_m, self._knuckle_m
        return dish * (self.radius_m - knuckle) / (dish - knuckle) if self.kind == "dished" else 0.0

    @property
    def seam_m(self) -> float:
        """How far from the tip the seam lies."""
        dish = 2 * self.radius_m
        return dish - sqrt(dish**2 - self.seam_radius_m**2)

    def radius_at(self, from_tip_m: float) -> float:
        """The radius of a standing end, so far from its tip."""
        rest = min(max(1.0 - from_tip_m / self.depth_m, 0.0), 1.0)
        if self.kind == "conical":
            return self.radius_m * (1.0 - rest)
        if self.kind == "spherical":
            return sqrt(max(from_tip_m * (2 * self._sphere_m - from_tip_m), 0.0))
        if self.kind != "dished":
            return self.radius_m * sqrt(1.0 - rest * rest)
        dish, knuckle = 2 * self.radius_m, self._knuckle_m
        if from_tip_m <= self.seam_m:
            return sqrt(max(from_tip_m * (2 * dish - from_tip_m), 0.0))
        return self.radius_m - knuckle + sqrt(max(knuckle**2 - (rest * self.depth_m) ** 2, 0.0))

    def slice_m2(self, off_axis_m: float) -> float:
        """The area of a level slice through a lying end, so far above or below its axis."""
        square = self.radius_m**2 - off_axis_m**2
        if square <= 0 or self.kind == "flat":
            return 0.0
        half_width = sqrt(square)
        aspect = self.depth_m / self.radius_m
        match self.kind:
            case "conical":
                return aspect * (self.radius_m * half_width - _hollow(abs(off_axis_m), self.radius_m))
            case "spherical":
                sphere = sqrt(self._sphere_m**2 - off_axis_m**2)
                rise = self._sphere_m - self.depth_m
                return sphere**2 * asin(min(half_width / sphere, 1.0)) - half_width * rise
            case "dished":
                return self._dished_slice_m2(off_axis_m, half_width)
        return pi / 2 * aspect * square

    def _dished_slice_m2(self, off_axis_m: float, half_width_m: float) -> float:
        seam = sqrt(max(self.seam_radius_m**2 - off_axis_m**2, 0.0))

        def reach_m(aside_m: float) -> float:
            return self._reach_m(hypot(aside_m, off_axis_m))

        return 2 * sum(integral(reach_m, low, high, 4) for low, high in pairwise((0.0, seam, half_width_m)))

    def _reach_m(self, radius_m: float) -> float:
        """How far a dished end stands out at a distance from the axis."""
        dish, knuckle = 2 * self.radius_m, self._knuckle_m
        if radius_m <= self.seam_radius_m:
            return sqrt(dish**2 - radius_m**2) - (dish - self.depth_m)
        return sqrt(max(knuckle**2 - (radius_m - (self.radius_m - knuckle)) ** 2, 0.0))


def _hollow(off_axis_m: float, radius_m: float) -> float:
    """What the hyperbola of a cone's slice leaves out: y² arcosh(R / y)."""
    return off_axis_m**2 * acosh(radius_m / off_axis_m) if off_axis_m > 0 else 0.0
