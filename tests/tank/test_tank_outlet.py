"""The water an outlet wants over it, against published examples."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.tank import shapes
from monitor.tank.outlet import heel_l, submergence_m
from monitor.tank.strapping import Strapping

IN = 0.0254
L_PER_GAL = 3.785411784


@pytest.mark.parametrize(("bore_m", "speed_m_s", "depth_m"), [(0.35, 1.5, 1.002), (0.45, 0.91, 0.898)])
def test_worked_example_in_si(bore_m: float, speed_m_s: float, depth_m: float) -> None:
    """ANSI/HI 9.8, S = D (1 + 2.3 Fr): Froude 0.81 and 0.433, 1.00 m and 0.90 m."""
    flow_l_min = speed_m_s * pi / 4 * bore_m**2 * 60_000
    assert submergence_m(bore_m, flow_l_min) == pytest.approx(depth_m, rel=0.005)


def test_the_same_in_the_standards_inches() -> None:
    """ANSI/HI 9.8 in US units, S = D + 0.574 Q / D^1.5 with D and S in inches and Q in gpm (from memory)."""
    for bore_in, flow_gpm in ((1.0, 13.5), (1.5, 13.0), (6.0, 400.0)):
        wanted_in = bore_in + 0.574 * flow_gpm / bore_in**1.5
        assert submergence_m(bore_in * IN, flow_gpm * L_PER_GAL) / IN == pytest.approx(wanted_in, rel=2e-3)


def test_a_one_inch_outlet_wants_nearly_nine_inches() -> None:
    """At 13.5 gpm 8.7 in over a 1-in outlet: some 68 gal of an upright 48-in tank (by hand, from the above)."""
    tank = Strapping(shapes.rows(shapes.VerticalCylinder(48 * IN, 60 * IN)))
    flow_l_min = 13.5 * L_PER_GAL
    assert submergence_m(1 * IN, flow_l_min) / IN == pytest.approx(8.7, abs=0.06)
    assert heel_l(tank, 1 * IN, 0.0, flow_l_min) / L_PER_GAL == pytest.approx(68, abs=0.6)


def test_an_outlet_higher_up_leaves_more_behind() -> None:
    tank = Strapping([(0.0, 0.0), (1.0, 1000.0)])
    low, high = heel_l(tank, 0.04, 0.0, 50.0), heel_l(tank, 0.04, 0.1, 50.0)
    assert high - low == pytest.approx(100.0)
    assert heel_l(tank, 0.04, 5.0, 50.0) == 1000.0


@given(st.floats(0.01, 0.3), st.floats(0.0, 500.0), st.floats(1.0, 500.0))
def test_more_flow_wants_more_water(bore_m: float, flow_l_min: float, more_l_min: float) -> None:
    assert submergence_m(bore_m, flow_l_min + more_l_min) > submergence_m(bore_m, flow_l_min) >= bore_m
