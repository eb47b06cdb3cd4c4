"""Falling, holding or rising: by the net flow, or by the volume alone, and never more than is known."""

from random import Random

import pytest
from scipy.stats import linregress

from monitor.core.trend import MARGIN, slope_l_min, trend


def past(l_min: float, noise_l: float = 0.0, seed: int = 1) -> list[tuple[float, float | None, float | None]]:
    random = Random(seed)
    return [(10.0 * k, 400.0 + l_min * k / 6 + random.gauss(0, noise_l), 3.0) for k in range(13)]


@pytest.mark.parametrize(("net", "said"), [(-5.0, "falling"), (-0.5, "holding"), (0.5, "holding"), (3.0, "rising")])
def test_a_net_flow_that_is_known_decides(net: float, said: str) -> None:
    assert trend(net, past(-20.0), 0.0) == said


@pytest.mark.parametrize(("l_min", "said"), [(-20.0, "falling"), (0.0, "holding"), (12.0, "rising")])
def test_without_it_the_volume_does(l_min: float, said: str) -> None:
    assert trend(None, past(l_min, noise_l=0.05), 0.0) == said


def test_what_the_volume_does_not_tell_is_not_told() -> None:
    assert trend(None, past(-1.0, noise_l=4.0), 0.0) is None
    assert trend(None, [], 0.0) is None
    assert trend(None, [*past(-20.0), (130.0, None, None)], 0.0) is None


def test_what_was_before_a_pump_changed_does_not_count() -> None:
    assert trend(None, past(-20.0), 90.0) is None
    assert trend(None, past(-20.0), 80.0) == "falling"


def test_the_slope_and_its_error_are_those_of_scipy() -> None:
    points = [(at, v) for at, v, _ in past(-7.0, noise_l=2.0) if v is not None]
    fit = linregress(*zip(*points, strict=True))
    slope, off = slope_l_min(points)
    assert slope == pytest.approx(60 * fit.slope)
    assert off == pytest.approx(60 * MARGIN * fit.stderr)
