"""The strapping table, against scipy's monotone interpolation and against its own inverse."""

from itertools import accumulate, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from monitor.tank.strapping import Strapping

steps = st.lists(st.tuples(st.floats(0.01, 0.5), st.floats(0.1, 500.0)), min_size=2, max_size=30)


def table_of(rises: list[tuple[float, float]]) -> Strapping:
    heights = accumulate((rise for rise, _ in rises), initial=0.0)
    volumes = accumulate((more for _, more in rises), initial=0.0)
    return Strapping(list(zip(heights, volumes, strict=True)))


@given(steps)
def test_between_rows_it_is_scipys_monotone_interpolation(rises: list[tuple[float, float]]) -> None:
    """PchipInterpolator: Fritsch and Butland's slopes, and the same rule at the ends."""
    table = table_of(rises)
    heights, volumes = (np.array(column) for column in zip(*table.rows, strict=True))
    reference = PchipInterpolator(heights, volumes)
    for height in np.linspace(0.0, table.top_m, 57):
        assert table.volume_l(height) == pytest.approx(float(reference(height)), rel=1e-9, abs=1e-9)
    for height in np.linspace(0.0, table.top_m, 57)[1:-1]:
        slope = float(reference.derivative()(height))
        assert table.slope_l_per_m(height) == pytest.approx(slope, rel=1e-6, abs=1e-6 * table.capacity_l / table.top_m)


@given(steps, st.floats(0.0, 1.0))
def test_there_and_back_again(rises: list[tuple[float, float]], share: float) -> None:
    table = table_of(rises)
    volume = share * table.capacity_l
    assert table.volume_l(table.height_m(volume)) == pytest.approx(volume, rel=1e-9, abs=1e-9 * table.capacity_l)


@given(steps)
def test_a_rising_table_never_gives_a_falling_volume(rises: list[tuple[float, float]]) -> None:
    table = table_of(rises)
    volumes = [table.volume_l(table.top_m * step / 300) for step in range(301)]
    slack = 1e-12 * table.capacity_l
    assert all(more >= less - slack for less, more in pairwise(volumes))
    assert all(table.slope_l_per_m(table.top_m * step / 300) >= -slack / table.top_m * 1e3 for step in range(301))


def test_at_its_rows_it_says_what_the_rows_say() -> None:
    rows = [(0.0, 0.0), (0.1, 35.0), (0.3, 190.0), (0.4, 260.0)]
    table = Strapping(rows)
    assert [table.volume_l(height) for height, _ in rows] == pytest.approx([volume for _, volume in rows])
    assert [table.height_m(volume) for _, volume in rows] == pytest.approx([height for height, _ in rows])


def test_two_rows_are_a_straight_line() -> None:
    table = Strapping([(0.0, 0.0), (2.0, 1000.0)])
    assert table.volume_l(0.5) == pytest.approx(250.0)
    assert table.slope_l_per_m(0.5) == pytest.approx(500.0)
    assert table.height_m(750.0) == pytest.approx(1.5)


@pytest.mark.parametrize(("height_m", "volume_l"), [(-0.2, 10.0), (0.05, 10.0), (9.0, 60.0)])
def test_outside_it_keeps_to_its_ends(height_m: float, volume_l: float) -> None:
    table = Strapping([(0.1, 10.0), (0.2, 30.0), (0.3, 60.0)])
    assert table.volume_l(height_m) == volume_l
    assert table.height_m(-5.0) == 0.1
    assert table.height_m(500.0) == 0.3
    assert table.slope_l_per_m(height_m) > 0


@pytest.mark.parametrize(
    "rows",
    [
        [(0.0, 0.0)],
        [(0.0, 0.0), (0.1, 20.0), (0.2, 10.0)],
        [(0.0, 0.0), (0.1, 20.0), (0.1, 30.0)],
        [(0.0, 0.0), (0.1, 20.0), (0.2, 20.0)],
        [(0.0, 0.0), (float("nan"), 20.0)],
    ],
)
def test_rows_that_do_not_rise_are_refused(rows: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError, match="row"):
        Strapping(rows)


def test_a_table_just_short_of_full_is_extended_at_its_slope() -> None:
    table = Strapping.of_tank([(0.0, 0.0), (1.0, 991.0)], 1000.0)
    assert table.rows[-1] == pytest.approx((1.0 + 9 / 991, 1000.0))
    assert table.height_m(1000.0) == pytest.approx(1.0091, abs=1e-4)


@pytest.mark.parametrize("last_l", [990.0, 900.0])
def test_a_table_one_percent_short_is_refused(last_l: float) -> None:
    with pytest.raises(ValueError, match="short of the capacity"):
        Strapping.of_tank([(0.0, 0.0), (1.0, last_l)], 1000.0)


def test_a_table_that_goes_on_above_capacity_stays_as_it_is() -> None:
    rows = [(0.0, 0.0), (1.0, 1000.0), (1.2, 1200.0)]
    assert Strapping.of_tank(rows, 1000.0).rows == tuple(rows)


def test_a_round_tank_is_not_extended_by_its_vanishing_slope() -> None:
    table = Strapping.of_tank([(0.0, 0.0), (0.5, 490.0), (0.99, 991.0), (1.0, 991.1)], 1000.0)
    assert table.top_m == pytest.approx(1.0 + 8.9 / 991.1)


def test_a_first_row_above_the_floor_gets_the_floor() -> None:
    assert Strapping.of_tank([(0.1, 40.0), (1.0, 1000.0)], 1000.0).rows[0] == (0.0, 0.0)
    assert Strapping.of_tank([(0.1, 0.0), (1.0, 1000.0)], 1000.0).rows[0] == (0.1, 0.0)
    assert Strapping.of_tank([(0.0, 12.0), (1.0, 1000.0)], 1000.0).rows[0] == (0.0, 12.0)
