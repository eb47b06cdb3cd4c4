"""What each pump takes, by the level alone: against least squares by statsmodels, and on a strainer that blocks."""

import random

import pytest
import statsmodels.api as sm

from monitor.balance.taken import Taken, _solved

RECORD = (22.0, 14.0)


def lived(taken: Taken, rng: random.Random, shares: tuple[float, ...], for_s: int, begin_s: int = 0) -> None:
    level_l = 700.0
    for t in range(begin_s + 1, begin_s + for_s + 1):
        drawn = tuple(rate / 60.0 if t % (60 + 23 * i) < 35 else 0.0 for i, rate in enumerate(RECORD))
        level_l += 15.0 / 60.0 - sum(share * d for share, d in zip(shares, drawn, strict=True))
        taken.add(float(t), level_l + rng.gauss(0.0, 3.0), 15.0 / 60.0, drawn)


def test_the_fit_is_ridge_regression() -> None:
    rng = random.Random(4)
    rows = [[rng.gauss(0.0, 1.0), rng.gauss(0.0, 2.0)] for _ in range(50)]
    seen = [1.5 * a - 0.7 * b + rng.gauss(0.0, 0.5) for a, b in rows]
    fit, sds = _solved(rows, seen, [1e-9, 1e-9], [0.0, 1.0], 0.25)
    reference = sm.OLS(seen, rows).fit()
    assert fit == pytest.approx(list(reference.params), rel=1e-6)
    assert [sd / 0.5 for sd in sds] == pytest.approx([c**0.5 for c in reference.normalized_cov_params.diagonal()])


@pytest.mark.parametrize("shares", [(1.0, 1.0), (0.35, 1.0), (1.0, 0.6), (1.3, 1.0)])
def test_each_pumps_share_is_found_within_its_spread(shares) -> None:
    for seed in range(4):
        taken = Taken(2)
        lived(taken, random.Random(seed), shares, 600)
        for found, true in zip(taken.shares, shares, strict=True):
            assert found is not None
            assert found.sd < 0.15
            assert abs(found.share - true) < 3.5 * found.sd


def test_after_a_move_nothing_is_known() -> None:
    taken = Taken(2)
    lived(taken, random.Random(1), (1.0, 1.0), 600)
    taken.forget()
    assert taken.shares == (None, None)


def test_a_pump_that_nobody_told_of_does_not_hide_a_blocked_one() -> None:
    """Another draws 15 l/min all the time, and is not known to."""
    for seed in range(4):
        rng, taken, level_l = random.Random(seed), Taken(2), 700.0
        for t in range(1, 601):
            drawn_l = 22.0 / 60.0 if t % 60 < 35 else 0.0
            level_l += 15.0 / 60.0 - 0.35 * drawn_l - 14.0 / 60.0
            taken.add(float(t), level_l + rng.gauss(0.0, 2.0), 15.0 / 60.0, (drawn_l, 0.0), 14.0)
        assert taken.shares[0] is not None
        assert taken.shares[1] is None
        assert taken.shares[0].share + 2.0 * taken.shares[0].sd < 0.8
