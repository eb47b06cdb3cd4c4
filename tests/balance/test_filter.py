"""The filter against reference libraries, published series, the chi-square, and the hidden cases of this trade."""

import math
from random import Random

import numpy as np
import pytest
from filterpy.kalman import KalmanFilter
from scipy.stats import chi2
from statsmodels.datasets import nile
from statsmodels.tsa.statespace.mlemodel import MLEModel

from monitor.balance.filter import Filter, Spreads
from monitor.balance.kalman import R0, B, E, G, V, correct, predict

NOMINAL = (22.7, 15.1, 11.4)  # l/min: 6, 4 and 3 gpm
SLOPE = 1000.0  # l/m: a square metre of water


# -- one known hypothesis is one Kalman filter ------------------------------------------------------------------


def day(seed, seconds=400):
    """Uneven steps: (dt, metered, shares, level or None, slope, noise variance), as a real second may bring them."""
    random = Random(seed)
    for _ in range(seconds):
        shares = tuple(random.choice((0.0, 1.0, random.random())) for _ in NOMINAL)
        level = None if random.random() < 0.3 else 600.0 + random.gauss(0, 8)
        yield (
            random.choice((0.1, 1.0, 2.5, 17.0)), random.uniform(0, 0.5), shares, level,
            random.uniform(400, 1300), random.uniform(1, 40),
        )  # fmt: skip


def transition(dt_s, shares, metered_l):
    step = np.eye(R0 + len(NOMINAL))
    step[V, E] = dt_s / 60
    step[V, G] = metered_l
    step[V, R0:] = [-share * dt_s / 60 for share in shares]
    step[:, E] *= math.exp(-dt_s / Spreads().unmetered_fade_s)
    return step


def gained(dt_s, s):
    return np.diag([s.water_walk, s.bias_walk, s.unmetered_walk, s.gain_walk, *[s.draw_walk] * len(NOMINAL)]) * dt_s


def looks(slope):
    return np.array([[1.0, slope, 0.0, 0.0, *[0.0] * len(NOMINAL)]])


def start(**spreads):
    ours = Filter(NOMINAL, 610.0, SLOPE, 9.0, Spreads(flow_walk=0.0, **spreads))
    (only,) = ours.hypotheses
    return ours, np.array(only.mean), np.array(only.cov)


@pytest.mark.parametrize("seed", range(5))
def test_with_all_signals_it_is_filterpys_kalman_filter(seed):
    """Reference: filterpy 1.4.5, time-varying steps, missing readings."""
    ours, mean, cov = start()
    theirs = KalmanFilter(dim_x=len(mean), dim_z=1)
    theirs.x, theirs.P = mean.reshape(-1, 1), cov
    for dt_s, metered_l, shares, level, slope, noise in day(seed):
        ours.step(dt_s, metered_l, shares)
        theirs.predict(F=transition(dt_s, shares, metered_l), Q=gained(dt_s, ours.spreads))
        theirs.x[V] += metered_l
        if level is not None:
            ours.see(level, slope, noise)
            bias, bias_var = theirs.x[B, 0], theirs.P[B, B]
            theirs.update(level, R=noise, H=looks(slope))
            theirs.x[B, 0], theirs.P[B, B] = bias, bias_var  # considered, not learned
        (only,) = ours.hypotheses
        assert only.mean == pytest.approx(theirs.x.ravel(), rel=1e-9, abs=1e-9)
        assert np.array(only.cov) == pytest.approx(theirs.P, rel=1e-8, abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_with_all_signals_it_is_statsmodels_filter(seed):
    """Reference: statsmodels 0.15, one pass over the whole series, missing readings as NaN; no bias to consider."""
    steps = list(day(seed))
    ours, mean, cov = start(bias_m=0.0, bias_walk=0.0)
    size, n = len(mean), len(steps)
    levels = np.array([np.nan if level is None else level for _, _, _, level, _, _ in steps])
    # their t-th state is the one before the t-th reading; ours is too, once the step has been made
    model = MLEModel(levels, k_states=size, k_posdef=size)
    matrices = {"design": (1, size, n), "obs_cov": (1, 1, n), "transition": (size, size, n)}
    matrices |= {"state_cov": (size, size, n), "state_intercept": (size, n)}
    full = {name: np.zeros(shape) for name, shape in matrices.items()}
    for t, (dt_s, metered_l, shares, _, slope, noise) in enumerate(steps):
        full["design"][:, :, t], full["obs_cov"][:, :, t] = looks(slope), noise
        before = max(t - 1, 0)  # the step into t is their transition out of t - 1
        if t:
            full["transition"][:, :, before] = transition(dt_s, shares, metered_l)
            full["state_cov"][:, :, before] = gained(dt_s, ours.spreads)
            full["state_intercept"][V, before] = metered_l
    for name, value in full.items():
        model[name] = value
    model["selection"] = np.eye(size)
    dt_s, metered_l, shares, *_ = steps[0]
    first = transition(dt_s, shares, metered_l)
    begin = first @ mean
    begin[V] += metered_l
    model.initialize_known(begin, first @ cov @ first.T + gained(dt_s, ours.spreads))
    result = model.ssm.filter()
    for t, (dt_s, metered_l, shares, level, slope, noise) in enumerate(steps):
        ours.step(dt_s, metered_l, shares)
        if level is not None:
            ours.see(level, slope, noise)
        (only,) = ours.hypotheses
        assert only.mean == pytest.approx(result.filtered_state[:, t], rel=1e-9, abs=1e-7)
        assert np.array(only.cov) == pytest.approx(result.filtered_state_cov[:, :, t], rel=1e-7, abs=1e-9)


def local_level(series, noise, walk):
    """The volume alone: a local level model through the very functions the filter uses. Diffuse start, as published."""
    mean, cov = [0.0, 0.0], [[1e13, 0.0], [0.0, 0.0]]
    for value in series:
        correct(mean, cov, value, 0.0, noise)
        yield mean[V], cov[V][V]
        predict(mean, cov, [1.0, 0.0], 0.0, [walk, 0.0])


def test_the_nile_is_filtered_as_published():
    """Durbin & Koopman, Time Series Analysis by State Space Methods, ch. 2: the Nile 1871–1970, local level."""
    series = nile.load().data["volume"].tolist()
    assert len(series) == 100
    filtered = list(local_level(series, 15_099.0, 1_469.1))
    levels, variances = zip(*filtered, strict=True)
    assert levels[:5] == pytest.approx([1120.0, 1140.92784, 1072.79853, 1117.30895, 1129.97214], rel=1e-6)
    assert variances[:5] == pytest.approx([15_099, 7899.73638, 5781.46994, 4898.36519, 4478.72326], rel=1e-6)
    assert levels[-1] == pytest.approx(798.37029, rel=1e-6)


@pytest.mark.parametrize(("q", "gain"), [(0.01, 0.0951249), (0.0973, 0.2670505), (1, 0.618034), (4, 0.8284271)])
def test_the_gain_settles_where_the_closed_form_says(q, gain):
    """K = P/(P + 1), P = (q + √(q² + 4q))/2: Harvey, Forecasting, Structural Time Series Models; Durbin & Koopman."""
    *_, (_, variance) = local_level([0.0] * 400, 1.0, q)
    assert variance == pytest.approx(gain, abs=1e-6)  # with unit noise the filtered variance is the gain


# -- a spread that is shown is true -----------------------------------------------------------------------------


def play_the_model(seed, seconds, spreads):
    """Water and readings drawn from the very model; gives the surprises' NIS and the last error's NEES."""
    random = Random(seed)
    ours = Filter(NOMINAL, 600.0, SLOPE, 9.0, spreads)
    (only,) = ours.hypotheses
    truth = np.random.default_rng(seed).multivariate_normal(only.mean, np.array(only.cov))
    sds = np.sqrt(np.diag(gained(1.0, spreads)))
    shares, nis = [0.0] * 3, []
    for _ in range(seconds):
        shares = [1.0 - share if random.random() < 0.02 else share for share in shares]
        truth = transition(1.0, shares, 0.0) @ truth + [random.gauss(0, sd) for sd in sds]
        ours.step(1.0, 0.0, tuple(shares))
        (only,) = ours.hypotheses
        seen = truth[V] + SLOPE * truth[B] + random.gauss(0, 3)
        surprise, spread = ours.surprise(seen, SLOPE, 9.0)
        ours.see(seen, SLOPE, 9.0)
        nis.append(surprise * surprise / spread)
    off = truth - only.mean
    return np.mean(nis), off @ np.linalg.solve(np.array(only.cov), off)


def test_surprises_and_errors_are_what_a_chi_square_allows():
    """NIS and NEES over 50 seeds; bounds of Bar-Shalom, Li, Kirubarajan, Estimation with Applications, sec. 5.4."""
    runs, seconds, size = 50, 300, 7
    results = [play_the_model(seed, seconds, Spreads()) for seed in range(runs)]
    nis, nees = np.mean(results, axis=0)
    many = runs * seconds
    assert chi2.ppf(0.005, many) / many < nis < chi2.ppf(0.995, many) / many
    assert chi2.ppf(0.005, runs * size) / runs < nees < chi2.ppf(0.995, runs * size) / runs


def test_the_bounds_above_are_the_published_ones():
    """The same formula gives the book's own figures for 50 runs: 1.5 to 2.6 for two degrees of freedom."""
    assert chi2.ppf(0.95, 1) == pytest.approx(3.84146, abs=1e-4)
    assert chi2.ppf([0.025, 0.975], 50) / 50 == pytest.approx([0.64715, 1.4284], abs=1e-4)
    assert chi2.ppf([0.025, 0.975], 100) / 50 == pytest.approx([1.48444, 2.59122], abs=1e-4)


# -- level and inflow alone: the sum is right and nobody is named ---------------------------------------------------


def watch(nominal, drawing, seconds=600, noise_l=1.5, seed=1, shares=None, filter_=None):
    """True draws at their nominal rates, for so long; the filter is told `shares` (nobody knows, by default).

    Gives the filter, the beliefs after the first two minutes, and the true volume at the end.
    """
    random = Random(seed)
    ours = filter_ or Filter(nominal, 700.0, SLOPE, noise_l**2)
    shares = shares or (None,) * len(nominal)
    volume = ours.belief(shares).volume_l
    taken = sum(rate for rate, draws in zip(nominal, drawing, strict=True) if draws)
    beliefs = []
    for _ in range(seconds):
        volume -= taken / 60
        ours.step(1.0, 0.0, shares)
        ours.see(volume + random.gauss(0, noise_l), SLOPE, noise_l**2)
        beliefs.append(ours.belief(shares))
    return ours, beliefs[min(120, seconds - 1) :], volume


def usual(beliefs):
    """The mean draw sum, and the mean probability of each pump."""
    return np.mean([b.draw_sum_l_min for b in beliefs]), np.mean([b.drawing for b in beliefs], axis=0)


@pytest.mark.parametrize("seed", range(4))
def test_of_two_like_pumps_the_sum_is_right_and_none_is_named(seed):
    ours, beliefs, volume = watch((20.0, 20.0), (True, False), seed=seed)
    draw_sum, drawing = usual(beliefs)
    assert draw_sum == pytest.approx(20.0, rel=0.03)
    assert drawing == pytest.approx([0.5, 0.5], abs=0.03)
    assert max(max(b.drawing) for b in beliefs) < 0.9  # never, not for a second
    assert beliefs[-1].volume_l == pytest.approx(volume, abs=4.0)
    assert sum(hyp.weight for hyp in ours.hypotheses) == pytest.approx(1.0)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("which", [0, 1])
def test_pumps_of_unlike_size_are_told_apart_by_the_fall(seed, which):
    _, beliefs, _ = watch((23.0, 8.0), (which == 0, which == 1), seed=seed)
    _, drawing = usual(beliefs)
    assert drawing[which] > 0.9
    assert drawing[1 - which] < 0.1


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("drawing", [(True, False, False), (True, True, False), (True, True, True)])
def test_with_three_pumps_the_sum_is_right_whoever_draws(seed, drawing):
    _, beliefs, _ = watch(NOMINAL, drawing, seed=seed)
    taken = sum(rate for rate, draws in zip(NOMINAL, drawing, strict=True) if draws)
    assert usual(beliefs)[0] == pytest.approx(taken, rel=0.05)


def test_when_nobody_draws_next_to_no_draw_is_invented():
    """Priors of fast trigger switching are known to invent 10–15 l/min on a parked rig."""
    draw_sum, drawing = usual(watch(NOMINAL, (False, False, False), seconds=900)[1])
    assert draw_sum < 2.5
    assert max(drawing) < 0.08


def test_a_signal_for_one_pump_leaves_only_the_others_to_be_inferred():
    ours, beliefs, _ = watch(NOMINAL, (True, False, True), shares=(1.0, None, None))
    _, drawing = usual(beliefs)
    assert drawing[0] == 1.0
    assert drawing[2] > 2.0 * drawing[1]  # 15 against 11 l/min: told apart, not surely
    assert all(hyp.mask & 1 == 0 for hyp in ours.hypotheses)
    assert len(ours.hypotheses) <= 4


def test_a_signal_that_falls_silent_hands_over_to_inference_and_takes_back_again():
    """The pump is drawing all the while: with its signal, without it, and with it again."""
    nominal, drawing = (22.0, 9.0), (True, False)
    ours, beliefs, _ = watch(nominal, drawing, 200, shares=(1.0, 0.0))
    assert len(ours.hypotheses) == 1
    ours, beliefs, _ = watch(nominal, drawing, 400, shares=(None, None), filter_=ours)
    draw_sum, probable = usual(beliefs)
    assert probable[0] > 0.9
    assert draw_sum == pytest.approx(22.0, rel=0.05)
    ours, beliefs, _ = watch(nominal, drawing, 200, shares=(1.0, 0.0), filter_=ours)
    assert [hyp.mask for hyp in ours.hypotheses] == [0]
    assert beliefs[-1].drawing == (1.0, 0.0)
    assert beliefs[-1].rates_l_min[0] == pytest.approx(22.0, rel=0.1)


def test_merging_what_a_signal_rules_out_keeps_the_mixtures_mean():
    ours, (*_, before), _ = watch((20.0, 20.0), (True, False), seconds=60)
    ours.step(1e-9, 0.0, (1.0, 0.0))
    after = ours.belief((1.0, 0.0))
    assert after.volume_l == pytest.approx(before.volume_l, abs=1e-6)
    assert after.volume_sd_l == pytest.approx(before.volume_sd_l, rel=1e-6)


def test_without_a_level_the_volume_is_carried_on_and_its_spread_grows():
    ours, (*_, last), volume = watch(NOMINAL, (True, False, False), 300, shares=(1.0, 0.0, 0.0))
    sds = [last.volume_sd_l]
    for _ in range(600):
        ours.step(1.0, 0.0, (1.0, 0.0, 0.0))
        sds.append(ours.belief((1.0, 0.0, 0.0)).volume_sd_l)
    assert sds == sorted(sds)
    assert ours.belief((1.0, 0.0, 0.0)).volume_l == pytest.approx(volume - NOMINAL[0] * 10, abs=2.0 * sds[-1])


def test_what_a_person_saw_goes_into_the_volume_and_the_bias_takes_the_difference():
    ours, *_ = watch(NOMINAL, (False, False, False), 60, shares=(0.0, 0.0, 0.0))
    before = ours.belief((0.0,) * 3)
    ours.told(before.volume_l - 12.0, 1.0)
    after = ours.belief((0.0,) * 3)
    assert after.volume_l == pytest.approx(before.volume_l - 12.0, abs=1.0)
    assert SLOPE * after.bias_m == pytest.approx(12.0, abs=2.5)
    assert after.volume_sd_l < 1.1


def test_a_move_forgets_the_tilt_and_keeps_the_water():
    ours, *_ = watch(NOMINAL, (False, False, False), 60, shares=(0.0, 0.0, 0.0))
    ours.told(690.0, 1.0)
    ours.moved()
    belief = ours.belief((0.0,) * 3)
    assert belief.volume_l == pytest.approx(690.0, abs=1.0)
    assert belief.bias_m == 0.0
    assert belief.bias_sd_m == pytest.approx(Spreads().bias_m)


def test_the_estimate_stays_where_the_world_can_be():
    ours = Filter(NOMINAL, 5.0, SLOPE, 9.0)
    for _ in range(120):
        ours.step(1.0, 0.0, (1.0, 1.0, 1.0))
        ours.bound(1200.0)
    assert ours.belief((1.0,) * 3).volume_l == 0.0
    ours.step(1.0, 5000.0, (0.0, 0.0, 0.0))
    ours.bound(1200.0)
    assert ours.belief((0.0,) * 3).volume_l == pytest.approx(1224.0)
