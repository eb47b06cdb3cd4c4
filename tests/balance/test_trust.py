"""A surprise that stands is believed, one that passes is not; a CUSUM with the run lengths of the books."""

import math
from random import Random

import numpy as np
import pytest
from scipy.stats import norm

from monitor.balance.trust import GATE, WAIT_S, Parting, Tally


def judged(offs, spread=4.0, noise=1.0):
    parting = Parting()
    return parting, [parting.judge(float(t), off, spread, noise) for t, off in enumerate(offs)]


def test_what_is_within_four_sd_is_taken():
    assert GATE == 16.0
    _, verdicts = judged([7.9, -7.9, 0.0])
    assert verdicts == ["take"] * 3


def test_a_false_echo_of_18_s_is_waited_out():
    parting, verdicts = judged([0.0] * 5 + [200.0] * 18 + [0.0] * 5)
    assert verdicts == ["take"] * 5 + ["wait"] * 18 + ["take"] * 5
    assert parting.jumped_at is None


def test_a_level_that_steps_and_stays_for_30_s_is_believed():
    parting, verdicts = judged([0.0] * 5 + [200.0] * 31)
    assert verdicts[5:] == ["wait"] * 30 + ["jump"]
    assert parting.jumped_at == 5.0 + WAIT_S


def test_a_level_that_comes_back_elsewhere_has_not_jumped_but_stands_anew():
    parting = Parting()
    assert [parting.judge(float(t), 200.0, 4.0, 1.0, back=True) for t in range(7)] == ["wait"] * 6 + ["jump"]
    assert (parting.jumped_at, parting.anew_at) == (None, 6.0)


def test_splashes_at_ever_other_heights_are_never_a_new_level():
    random = Random(1)
    _, verdicts = judged([random.choice((-1, 1)) * random.uniform(50, 500) for _ in range(300)])
    assert "jump" not in verdicts


def test_an_echo_that_comes_and_goes_begins_its_waiting_anew():
    _, verdicts = judged(([200.0] * 20 + [0.0]) * 10)
    assert "jump" not in verdicts


# -- CUSUM ------------------------------------------------------------------------------------------------------------


def run_length(allowance, limit, shift, sides=2, nodes=200, cap=math.inf):
    """Mean steps to an alarm, by the integral equation of Page's scheme (Gauss–Legendre), surprises capped at `cap`.

    L(u) = 1 + L(0) P(z ≤ k − u) + ∫₀ʰ L(x) f(x + k − u) dx; two sides: 1/L = 1/L⁺ + 1/L⁻.
    """

    def one_side(mean):
        x, w = np.polynomial.legendre.leggauss(nodes)
        x, w = (x + 1) * limit / 2, w * limit / 2
        kernel = w * norm.pdf(x[None, :] + allowance - x[:, None] - mean)
        to_zero = norm.cdf(allowance - x - mean)
        matrix = np.eye(nodes) - kernel
        at_zero_kernel, at_zero = w * norm.pdf(x + allowance - mean), norm.cdf(allowance - mean)
        full = np.block([[matrix, -to_zero[:, None]], [-at_zero_kernel[None, :], np.array([[1 - at_zero]])]])
        return np.linalg.solve(full, np.ones(nodes + 1))[-1]

    return one_side(shift) if sides == 1 else 1 / (1 / one_side(shift) + 1 / one_side(-shift))


def tallied(allowance, limit, shift, runs, seed):
    """The mean run length of the Tally itself."""
    random = Random(seed)
    steps = 0
    for _ in range(runs):
        tally = Tally(allowance, limit)
        steps += 1
        while not tally.add(random.gauss(shift, 1.0)):
            steps += 1
    return steps / runs


PUBLISHED = [(0.0, 465.4), (0.5, 38.0), (1.0, 10.38), (1.5, 5.75), (2.0, 4.01)]


@pytest.mark.parametrize(("shift", "steps"), PUBLISHED)
def test_the_integral_equation_gives_the_published_run_lengths(shift, steps):
    """Two-sided, k = 0.5, h = 5: Montgomery, Introduction to Statistical Quality Control, CUSUM ARL table."""
    assert run_length(0.5, 5.0, shift) == pytest.approx(steps, rel=0.005)


@pytest.mark.parametrize(("shift", "steps"), PUBLISHED)
def test_the_tally_runs_as_long_as_published(shift, steps):
    """Its cap of three sd lengthens a run by up to 5 %; the mean of 1500 runs is uncertain by 2.6 % at most."""
    assert tallied(0.5, 5.0, shift, 1500, seed=11) == pytest.approx(steps, rel=0.08)


def siegmund(allowance, limit, shift=0.0):
    """Siegmund 1985, as in Montgomery: one side, Δ = shift − k, b = h + 1.166."""
    drift, b = shift - allowance, limit + 1.166
    return (math.exp(-2 * drift * b) + 2 * drift * b - 1) / (2 * drift * drift)


def test_the_docstrings_figures_are_true():
    assert run_length(0.5, 5.0, 0.0, sides=1) == pytest.approx(930, rel=0.005)
    assert siegmund(0.5, 5.0) == pytest.approx(938, rel=0.005)
    assert run_length(0.5, 15.0, 0.0, sides=1) > 1e7
    assert siegmund(0.5, 15.0) == pytest.approx(run_length(0.5, 15.0, 0.0, sides=1), rel=0.02)


def test_a_lasting_shift_of_one_sd_is_found_in_half_a_minute_of_seconds():
    assert tallied(0.5, 15.0, 1.0, 300, seed=5) == pytest.approx(run_length(0.5, 15.0, 1.0, sides=1), rel=0.1)
    assert run_length(0.5, 15.0, 1.0, sides=1) < 33


def test_both_sides_are_told_apart_and_reset_begins_anew():
    tally = Tally()
    assert [tally.add(2.0) for _ in range(11)][-1] == "high"
    tally.reset()
    assert [tally.add(-2.0) for _ in range(11)][-1] == "low"
