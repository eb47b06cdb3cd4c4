"""The world's tank against handbook tables and the fluids library, neither of which it shares a formula with."""

from math import pi

import pytest
from fluids import TANK
from scipy.integrate import quad

from simulated_feeds.tank import build_tank
from simulated_feeds.units import BadScenario

L_PER_M3 = 1000.0

# Perry's Chemical Engineers' Handbook, "Volume of partially filled horizontal cylinders": depth / diameter -> share
PERRY = {
    0.02: 0.00477, 0.05: 0.01869, 0.1: 0.05204, 0.2: 0.14238, 0.25: 0.1955, 0.4: 0.37353, 0.5: 0.5,
    0.75: 0.8045, 0.9: 0.94796,
}  # fmt: skip


def _tank(**shape: object):  # type: ignore[no-untyped-def]
    return build_tank({"shape": shape})


def test_a_lying_cylinder_fills_as_perrys_table_says() -> None:
    tank = _tank(kind="horizontal cylinder", diameter="1 m", length="2 m")
    for depth, share in PERRY.items():
        assert tank.volume_l(depth) / tank.whole_l == pytest.approx(share, abs=2e-5)


@pytest.mark.parametrize("height_m", [0.03, 0.2, 0.5334, 0.9, 1.05])
def test_a_lying_cylinder_against_fluids(height_m: float) -> None:
    ours = _tank(kind="horizontal cylinder", diameter="42 in", length="54 in")
    theirs = TANK(D=42 * 0.0254, L=54 * 0.0254, horizontal=True)
    assert ours.volume_l(height_m) == pytest.approx(theirs.V_from_h(height_m) * L_PER_M3, rel=1e-4)
    assert ours.height_m(theirs.V_from_h(height_m) * L_PER_M3) == pytest.approx(height_m, abs=1e-4)


def test_an_upright_cylinder_against_fluids() -> None:
    ours = _tank(kind="vertical cylinder", diameter="1.2 m", height="4 m")
    assert ours.volume_l(0.5) == pytest.approx(565.486678, rel=1e-6)  # fluids 1.3.1, TANK's documented example
    assert ours.height_m(500.0) == pytest.approx(0.442097064, rel=1e-6)


def test_a_box_in_gallons() -> None:
    tank = _tank(kind="box", length="48 in", width="48 in", height="55 in")
    assert tank.whole_l / 3.785411784 == pytest.approx(548.5714, rel=1e-6)  # 231 cubic inches: NIST Handbook 44, App. C


@pytest.mark.parametrize(("width", "height"), [(1.4, 0.9), (0.8, 1.3)])
def test_an_obround_is_two_half_circles_and_a_box(width: float, height: float) -> None:
    tank = _tank(kind="obround", width=width, height=height, length=1.5)
    short, long = sorted((width, height))
    assert tank.whole_l == pytest.approx((pi / 4 * short**2 + (long - short) * short) * 1.5 * L_PER_M3, rel=1e-4)
    assert tank.volume_l(height / 2) == pytest.approx(tank.whole_l / 2, rel=1e-4)


def test_an_ellipse_by_quadrature() -> None:
    tank = _tank(kind="elliptical", width=1.4, height=0.9, length=1.5)
    area, _ = quad(lambda y: 1.4 * (1 - ((y - 0.45) / 0.45) ** 2) ** 0.5, 0, 0.3)
    assert tank.volume_l(0.3) == pytest.approx(area * 1.5 * L_PER_M3, rel=1e-4)


def test_upright_ellipse_and_obround_are_prisms() -> None:
    ellipse = _tank(kind="upright elliptical", length=1.6, width=1.0, height=1.1)
    assert ellipse.volume_l(0.55) == pytest.approx(pi / 4 * 1.6 * 0.55 * L_PER_M3, rel=1e-6)
    obround = _tank(kind="upright obround", length=1.6, width=1.0, height=1.1)
    assert obround.volume_l(1.1) == pytest.approx((0.6 + pi / 4) * 1.1 * L_PER_M3, rel=1e-6)


def test_a_strapping_table_is_kept_row_by_row() -> None:
    tank = build_tank({"strapping": [["0 in", "0 gal"], ["6 in", "28.4 gal"], ["20 in", "150 gal"]]})
    assert tank.volume_l(6 * 0.0254) == pytest.approx(28.4 * 3.785411784, rel=1e-3)
    assert tank.whole_l == pytest.approx(150 * 3.785411784, rel=1e-3)


def test_height_and_volume_are_each_others_inverse() -> None:
    for shape in ("horizontal cylinder", "vertical cylinder"):
        tank = _tank(kind=shape, diameter="1 m", length="1.5 m", height="1 m")
        for share in range(1, 100):
            volume_l = share / 100 * tank.whole_l
            assert tank.volume_l(tank.height_m(volume_l)) == pytest.approx(volume_l, abs=1e-6)


def test_a_wrong_shape_is_refused_in_words() -> None:
    with pytest.raises(BadScenario, match="found kind \"egg\""):
        _tank(kind="egg")
    with pytest.raises(BadScenario, match="also needs 'length'"):
        _tank(kind="horizontal cylinder", diameter="1 m")
    with pytest.raises(BadScenario, match="expected flat ones"):
        _tank(kind="horizontal cylinder", diameter="1 m", length="1 m", ends="dished")


# NASA SP-106 / linear wave theory, a rectangular tank 1 m long and 0.5 m deep, first mode (formula seen in two sources)
def test_a_box_sloshes_at_the_published_frequency() -> None:
    tank = _tank(kind="box", length=1.0, width=0.6, height=1.0)
    assert tank.slosh_rad_s(0.5) / (2 * pi) == pytest.approx(0.84601, rel=1e-3)


@pytest.mark.parametrize("shape", [
    {"kind": "horizontal cylinder", "diameter": "42 in", "length": "54 in"},
    {"kind": "vertical cylinder", "diameter": "1.3 m", "height": "1.3 m"},
    {"kind": "box", "length": "1.8 m", "width": "1.1 m", "height": "0.9 m"},
    {"kind": "obround", "length": "1.6 m", "width": "1.3 m", "height": "0.9 m"},
])  # fmt: skip
def test_tanks_of_one_to_two_cubic_metres_slosh_at_less_than_a_hertz(shape: dict[str, str]) -> None:
    tank = _tank(**shape)
    for share in (0.15, 0.5, 0.9):
        assert 0.3 < tank.slosh_rad_s(tank.height_m(share * tank.whole_l)) / (2 * pi) < 0.9
