"""Volumes of shapes, against published figures and against the fluids library."""

from itertools import pairwise
from math import pi

import pytest
from fluids.geometry import V_from_h, a_torispherical
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.tank import shapes
from monitor.tank.heads import End, Head
from monitor.tank.shapes import (
    Box,
    Elliptical,
    HorizontalCylinder,
    Obround,
    Shape,
    UprightElliptical,
    UprightObround,
    VerticalCylinder,
    volume_l,
)
from monitor.tank.strapping import Strapping

IN = 0.0254
L_PER_GAL = 3.785411784

EVERY_SHAPE: list[Shape] = [
    HorizontalCylinder(1.1, 1.4),
    HorizontalCylinder(1.1, 1.4, "dished"),
    HorizontalCylinder(1.1, 1.4, "elliptical"),
    HorizontalCylinder(1.1, 1.4, "hemispherical"),
    HorizontalCylinder(1.1, 1.4, "conical", 0.3),
    VerticalCylinder(1.2, 1.0),
    VerticalCylinder(1.2, 1.0, "dished", top="dished"),
    VerticalCylinder(1.2, 1.0, "elliptical", 0.2, "hemispherical"),
    VerticalCylinder(1.2, 1.0, "conical", 0.4, "conical", 0.1),
    VerticalCylinder(1.2, 1.0, "spherical", 0.4, "spherical", 0.6),
    HorizontalCylinder(1.1, 1.4, "spherical", 0.3),
    Box(1.5, 0.9, 0.8),
    Elliptical(1.3, 0.9, 1.5),
    Obround(1.3, 0.9, 1.5),
    Obround(0.9, 1.3, 1.5),
    UprightElliptical(1.3, 0.9, 1.5),
    UprightObround(1.3, 0.9, 1.5),
]


def gallons(shape: Shape, height_in: float) -> float:
    return volume_l(shape, height_in * IN) / L_PER_GAL


@pytest.mark.parametrize(
    ("share_of_height", "share_of_volume"),
    [
        (0.02, 0.00477),
        (0.05, 0.01869),
        (0.1, 0.05204),
        (0.15, 0.09406),
        (0.2, 0.14238),
        (0.25, 0.1955),
        (0.3, 0.25232),
        (0.35, 0.31192),
        (0.4, 0.37353),
        (0.45, 0.43644),
        (0.5, 0.5),
        (0.75, 0.8045),
        (0.9, 0.94796),
    ],
)
def test_a_lying_cylinder_fills_as_the_handbook_says(share_of_height: float, share_of_volume: float) -> None:
    """Perry's Chemical Engineers' Handbook, "Volume of partially filled horizontal cylinders" (from memory)."""
    tank = HorizontalCylinder(1.0, 1.0)
    share = volume_l(tank, share_of_height) / volume_l(tank, 1.0)
    assert share == pytest.approx(share_of_volume, abs=1e-5)


@pytest.mark.parametrize(
    ("shape", "height_in", "published_gal"),
    [
        (HorizontalCylinder(108 * IN, 156 * IN, "conical", 42 * IN), 36, 2041.1924),
        (HorizontalCylinder(108 * IN, 156 * IN, "conical", 42 * IN), 84, 6180.5408),
        (HorizontalCylinder(108 * IN, 156 * IN, "elliptical", 42 * IN), 36, 2380.9565),
        (HorizontalCylinder(108 * IN, 156 * IN, "elliptical", 42 * IN), 84, 7103.4452),
        (VerticalCylinder(132 * IN, 100 * IN, "elliptical", 33 * IN), 24, 783.3582),
        (VerticalCylinder(132 * IN, 100 * IN, "elliptical", 33 * IN), 60, 2902.8316),
        (VerticalCylinder(132 * IN, 100 * IN, "spherical", 33 * IN), 24, 583.6018),
        (VerticalCylinder(132 * IN, 100 * IN, "spherical", 33 * IN), 60, 2658.4606),
        (VerticalCylinder(132 * IN, 100 * IN, "dished"), 1, 1.7907),
        (VerticalCylinder(132 * IN, 100 * IN, "dished"), 22, 785.5876),
        (VerticalCylinder(132 * IN, 100 * IN, "dished"), 24, 904.0688),
        (VerticalCylinder(132 * IN, 100 * IN, "dished"), 60, 3036.7614),
    ],
)
def test_worked_examples_of_tanks_with_ends(shape: Shape, height_in: float, published_gal: float) -> None:
    """D. Jones, "Computing Fluid Tank Volumes", worked examples, as carried by the fluids library."""
    assert gallons(shape, height_in) == pytest.approx(published_gal, rel=1e-6, abs=5e-5)


def test_whole_ends_hold_what_geometry_says() -> None:
    """2:1 elliptical π D³/24, hemispherical π D³/12: the one holds half of the other (vessel handbooks)."""
    straight = volume_l(HorizontalCylinder(1.0, 1.0), 1.0)
    elliptical = volume_l(HorizontalCylinder(1.0, 1.0, "elliptical"), 1.0) - straight
    hemispherical = volume_l(HorizontalCylinder(1.0, 1.0, "hemispherical"), 1.0) - straight
    assert elliptical / 2000 == pytest.approx(0.1309, abs=1e-6)
    assert hemispherical / 2000 == pytest.approx(0.261799, abs=1e-6)


def test_a_standing_cylinder_both_ways() -> None:
    """fluids documentation, fluids.geometry.TANK: 1.2 m by 4 m."""
    tank = VerticalCylinder(1.2, 4.0)
    assert volume_l(tank, 0.5) == pytest.approx(565.486678, rel=1e-6)
    table = Strapping(shapes.rows(tank))
    assert table.height_m(500.0) == pytest.approx(0.442097064, rel=1e-6)
    assert table.capacity_l == pytest.approx(4523.893421, rel=1e-6)


def test_gallons_of_a_box_and_of_an_inch() -> None:
    """231 in³ in a US gallon (NIST Handbook 44, appendix C)."""
    assert gallons(Box(48 * IN, 48 * IN, 55 * IN), 55) == pytest.approx(548.5714, rel=1e-6)
    assert gallons(VerticalCylinder(48 * IN, 60 * IN), 1) == pytest.approx(7.83358, rel=1e-6)


def test_a_dished_end_is_no_din_28011_end() -> None:
    """ASME flanged and dished: 0.1693 D deep; 0.193 D belongs to DIN 28011."""
    assert Head("dished", 0.5).depth_m == pytest.approx(0.1693, abs=5e-5)
    assert Head("dished", 0.5).depth_m == pytest.approx(a_torispherical(D=1.0, f=1.0, k=0.06), rel=1e-12)


def test_an_obround_is_no_ellipse() -> None:
    """44 in wide, 27 in high, filled to 6 in: the ellipse holds 21.5 % less."""
    ellipse = volume_l(Elliptical(44 * IN, 27 * IN, 60 * IN), 6 * IN)
    obround = volume_l(Obround(44 * IN, 27 * IN, 60 * IN), 6 * IN)
    assert ellipse / obround - 1 == pytest.approx(-0.215, abs=5e-4)


@pytest.mark.parametrize(
    ("shape", "whole_m3"),
    [
        (Elliptical(1.3, 0.9, 1.5), pi / 4 * 1.3 * 0.9 * 1.5),
        (Obround(1.3, 0.9, 1.5), (pi / 4 * 0.9**2 + 0.4 * 0.9) * 1.5),
        (Obround(0.9, 1.3, 1.5), (pi / 4 * 0.9**2 + 0.4 * 0.9) * 1.5),
        (UprightElliptical(1.3, 0.9, 1.5), pi / 4 * 1.3 * 0.9 * 1.5),
        (UprightObround(1.3, 0.9, 1.5), (pi / 4 * 0.9**2 + 0.4 * 0.9) * 1.5),
        (UprightObround(0.9, 1.3, 1.5), (pi / 4 * 0.9**2 + 0.4 * 0.9) * 1.5),
        (Box(1.3, 0.9, 1.5), 1.3 * 0.9 * 1.5),
        (VerticalCylinder(1.2, 1.0, "conical", 0.6), pi * 0.36 * (1.0 + 0.2)),
    ],
)
def test_whole_volumes_by_elementary_geometry(shape: Shape, whole_m3: float) -> None:
    assert volume_l(shape, shape.bounds_m[-1]) == pytest.approx(1000 * whole_m3, rel=1e-9)


KINDS: dict[End, str | None] = {
    "flat": None,
    "dished": "torispherical",
    "elliptical": "ellipsoidal",
    "hemispherical": "spherical",
    "spherical": "spherical",
    "conical": "conical",
}
ends = st.tuples(st.sampled_from(list(KINDS)), st.floats(0.1, 0.9))
sizes = st.floats(0.3, 3.0)
filled = st.floats(0.05, 1.0)


def by_fluids(height_m: float, diameter_m: float, length_m: float, horizontal: bool, end: Head) -> float:
    """The same tank, both ends alike, by the reference library, in litres."""
    kind, depth_m = KINDS[end.kind], end.depth_m
    volume_m3 = V_from_h(height_m, diameter_m, length_m, horizontal, kind, kind, depth_m, depth_m, 1.0, 0.06, 1.0, 0.06)
    return 1000 * float(volume_m3)


def head(diameter_m: float, end: tuple[End, float]) -> Head:
    kind, depth_m = end
    depths = {"elliptical": depth_m, "conical": depth_m, "spherical": depth_m * diameter_m / 2}
    return Head(kind, diameter_m / 2, depths.get(kind))


@settings(max_examples=60)
@given(sizes, sizes, ends, filled)
def test_lying_cylinders_agree_with_fluids(
    diameter_m: float, length_m: float, end: tuple[End, float], share: float
) -> None:
    ends = head(diameter_m, end)
    ours = HorizontalCylinder(diameter_m, length_m, ends.kind, ends.given_depth_m)
    theirs_l = by_fluids(share * diameter_m, diameter_m, length_m, True, ends)
    assert volume_l(ours, share * diameter_m) == pytest.approx(theirs_l, rel=1e-6)


@settings(max_examples=60)
@given(sizes, sizes, ends, filled)
def test_standing_cylinders_agree_with_fluids(
    diameter_m: float, length_m: float, end: tuple[End, float], share: float
) -> None:
    ends = head(diameter_m, end)
    ours = VerticalCylinder(diameter_m, length_m, ends.kind, ends.given_depth_m, ends.kind, ends.given_depth_m)
    height_m = share * ours.bounds_m[-1]
    theirs_l = by_fluids(height_m, diameter_m, length_m, False, ends)
    assert volume_l(ours, height_m) == pytest.approx(theirs_l, rel=1e-6)


@pytest.mark.parametrize("shape", EVERY_SHAPE, ids=lambda shape: f"{shape.kind} {getattr(shape, 'ends', '')}")
def test_the_table_of_a_shape_is_the_shape(shape: Shape) -> None:
    table = Strapping(shapes.rows(shape))
    whole, top = table.capacity_l, shape.bounds_m[-1]
    for step in range(1, 40):
        height = top * step / 40
        assert table.volume_l(height) == pytest.approx(volume_l(shape, height), abs=2e-6 * whole)
        assert table.slope_l_per_m(height) == pytest.approx(1000 * shape.plan_m2(height), abs=5e-3 * whole / top)


@pytest.mark.parametrize("shape", EVERY_SHAPE, ids=lambda shape: f"{shape.kind} {getattr(shape, 'ends', '')}")
def test_the_outline_is_the_tank_from_its_end(shape: Shape) -> None:
    outline = shapes.outline(shape)
    assert outline[0][0] == 0.0
    assert outline[-1][0] == shape.bounds_m[-1]
    assert all(low < high for (low, _), (high, _) in pairwise(outline))
    assert all(width >= 0 for _, width in outline)


@pytest.mark.parametrize(
    ("shape", "length_m"),
    [(HorizontalCylinder(1.1, 1.4), 1.4), (Elliptical(1.3, 0.9, 1.5), 1.5), (Obround(0.9, 1.3, 1.5), 1.5)],
)
def test_a_lying_tanks_outline_encloses_its_cross_section(shape: Shape, length_m: float) -> None:
    outline = shapes.outline(shape)
    drawn_m2 = sum((high - low) * (a + b) / 2 for (low, a), (high, b) in pairwise(outline))
    assert 1000 * drawn_m2 * length_m == pytest.approx(volume_l(shape, shape.bounds_m[-1]), rel=5e-3)


def test_an_outline_from_a_table_is_in_proportion_to_its_plan_area() -> None:
    table = Strapping([(0.0, 0.0), (0.5, 100.0), (1.0, 1100.0)])
    outline = shapes.table_outline(table)
    drawn_m2 = sum((high - low) * (a + b) / 2 for (low, a), (high, b) in pairwise(outline))
    assert drawn_m2 == pytest.approx(1.1**0.5, rel=1e-2)
    assert dict(outline)[0.25] < dict(outline)[0.75]


@pytest.mark.parametrize(
    ("kind", "depth_m"), [("conical", None), ("flat", 0.1), ("dished", 0.1), ("hemispherical", 0.5), ("spherical", 0.6)]
)
def test_ends_that_cannot_be(kind: str, depth_m: float | None) -> None:
    with pytest.raises(ValueError, match="depth"):
        HorizontalCylinder(1.0, 1.0, kind, depth_m)  # type: ignore[arg-type]


@pytest.mark.parametrize("height_m", [-1.0, 0.0, 1.2, 5.0])
def test_no_water_below_the_floor_and_no_more_above_the_top(height_m: float) -> None:
    tank = VerticalCylinder(1.2, 1.2)
    assert volume_l(tank, height_m) == pytest.approx(0.0 if height_m <= 0 else 1000 * pi * 0.36 * 1.2)
