"""The time to the heel against what is known in closed form."""

import math
from random import Random
from statistics import mean

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import invgauss, norm

from monitor.forecast.habits import KEPT, CrewHabit, Durations, width
from monitor.forecast.passage import (
    HORIZON_S,
    LEAST_STEP_S,
    Demand,
    Forecaster,
    Spread,
    Supply,
    Water,
    _through_the_valve,
    normal_quantile,
    quantile,
)

L_PER_GAL = 3.785411784
NOW = 10_000.0
SHUT = Supply(0.0, 0.0, 0.0, 0.0, 0.0)
QUANTILES = (0.05, 0.5, 0.95)
SURE = Spread(1000.0, 0.0)
TWENTY = (Demand(Spread(20.0, 0.0)),)  # l/min, known to the drop


def crew(pumps=1, *, on=None, off=None):
    """A crew that never rests; its triggers as told: no guess but the one given stands for what was not seen."""
    habit = CrewHabit(pumps)
    habit.work = Durations(1e7, 2e7)
    for trigger in habit.triggers:
        trigger.on, trigger.off = on or Durations(1e7, 2e7), off or Durations(1e7, 2e7)
    habit.note(NOW - 100.0, (True,) * pumps, False)
    return habit


def tank(usable, room_l=1e6):
    return Water(usable, room_l, room_l)


def times(habit, water, supply=SHUT, demands=TWENTY, drawing=(1.0,), seed=1, paths=400):
    return Forecaster(habit).passages(NOW, water, supply, demands, drawing, Random(seed), paths)


def at_quantiles(ascending):
    return [quantile(ascending, q) for q in QUANTILES]


# -- constant drift: no habits ------------------------------------------------------------------------------------


@pytest.mark.parametrize("flow_l_min", [0.0, 8.0, 15.0])
def test_with_nothing_uncertain_it_is_volume_over_net_flow(flow_l_min):
    supply = Supply(flow_l_min, flow_l_min, 0.0, 0.0, 0.0)
    expected = 60.0 * 200.0 / (20.0 - flow_l_min)
    assert at_quantiles(times(crew(), tank(Spread(200.0, 0.0)), supply)) == pytest.approx([expected] * 3, rel=1e-3)


def test_the_draws_of_all_pumps_add_up():
    demands = [Demand(Spread(rate, 0.0)) for rate in (22.7, 15.1, 11.4)]
    found = times(crew(3), tank(Spread(300.0, 0.0)), demands=demands, drawing=(1.0, 1.0, 1.0))
    assert found[0] == found[-1] == pytest.approx(60.0 * 300.0 / 49.2, rel=1e-3)


@pytest.mark.parametrize("sd_l", [5.0, 30.0])
def test_a_volume_spread_alone_gives_its_own_quantiles(sd_l):
    """T = U/r, U normal: the quantiles of T are those of U, over r."""
    expected = [60.0 * norm.ppf(q, 300.0, sd_l) / 20.0 for q in QUANTILES]
    assert at_quantiles(times(crew(), tank(Spread(300.0, sd_l)))) == pytest.approx(expected, rel=0.01)


def ratio_quantiles(usable, rate):
    """Quantiles of U/R in seconds, both normal: P(U/R ≤ t) = P(U − tR ≤ 0), exact while R is surely positive."""
    t = np.linspace(1.0, 3000.0, 300_000)
    minutes = t / 60.0
    below = norm.cdf((minutes * rate.mean - usable.mean) / np.hypot(usable.sd, minutes * rate.sd))
    return [float(np.interp(q, below, t)) for q in QUANTILES]


@pytest.mark.parametrize(("sd_l", "sd_l_min"), [(0.0, 2.0), (20.0, 2.0), (40.0, 1.0)])
def test_volume_and_rate_spread_together_give_the_quantiles_of_their_ratio(sd_l, sd_l_min):
    usable, rate = Spread(300.0, sd_l), Spread(20.0, sd_l_min)
    found = at_quantiles(times(crew(), tank(usable), demands=(Demand(rate),), paths=4000))
    assert found == pytest.approx(ratio_quantiles(usable, rate), rel=0.02)


def test_a_spread_of_the_tap_is_a_spread_of_the_net_flow():
    usable, net = Spread(300.0, 0.0), Spread(12.0, 1.0)
    supply = Supply(8.0, 8.0, 1.0, 0.0, 0.0)
    assert at_quantiles(times(crew(), tank(usable), supply, paths=4000)) == pytest.approx(
        ratio_quantiles(usable, net), rel=0.02
    )


def test_half_a_belief_that_it_draws_is_half_of_the_paths():
    found = times(crew(), tank(Spread(200.0, 0.0)), drawing=(0.5,), paths=2000)
    dry = sum(math.isfinite(t) for t in found) / len(found)
    assert dry == pytest.approx(0.5, abs=4 * 0.5 / math.sqrt(2000))


def test_a_tank_at_its_heel_is_dry_now_and_one_that_holds_never():
    assert at_quantiles(times(crew(), tank(Spread(-5.0, 1.0)))) == [0.0, 0.0, 0.0]
    holds = times(crew(), tank(Spread(200.0, 1.0)), Supply(25.0, 25.0, 0.0, 0.0, 0.0))
    assert all(math.isinf(t) for t in holds)
    assert math.isinf(times(crew(), tank(SURE), demands=(Demand(Spread(0.0, 0.0)),))[0])


def test_beyond_the_horizon_it_says_no_time():
    assert math.isinf(times(crew(), tank(Spread(20.0 * HORIZON_S / 60.0 + 5.0, 0.0)))[-1])
    assert times(crew(), tank(Spread(20.0 * HORIZON_S / 60.0 - 5.0, 0.0)))[-1] <= HORIZON_S


def test_a_full_tanks_tap_is_held_back_by_its_valve_and_not_shut():
    """Full, no flow, and drawing 20 against a tap of 30: the water settles where the valve lets just 20 in."""
    water = Water(Spread(1000.0, 0.0), 1000.0, 900.0)
    assert all(math.isinf(t) for t in times(crew(), water, Supply(0.0, 30.0, 0.0, 0.0, 0.0)))


def test_a_tap_that_is_shut_now_and_then_brings_the_end_sooner():
    """Shut with certainty after a while: P(shut by s) = 1 − e^(−λs); from then on the draw alone empties the tank."""
    per_s = 1 / 600.0
    supply = Supply(20.0, 20.0, 0.0, per_s, 0.0)
    found = times(crew(), tank(Spread(100.0, 0.0)), supply, paths=4000)
    expected = [300.0 + -math.log(1 - q) / per_s for q in (0.05, 0.5, 0.95)]
    assert at_quantiles(found)[:2] == pytest.approx(expected[:2], rel=0.06)


# -- known to the second -------------------------------------------------------------------------------------------


def exactly(seconds):
    return Durations(seconds, seconds * 1.000001)


@pytest.mark.parametrize(("drawing", "expected_s"), [(1.0, 29 * 30 + 20), (0.0, 10 + 29 * 30 + 20)])
def test_a_trigger_that_keeps_its_beat_is_followed(drawing, expected_s):
    """20 s on, 10 s off, at 20 l/min: 200 l are 600 s of drawing, thirty times on. To the last step."""
    habit = crew(on=exactly(20.0), off=exactly(10.0))
    trigger = habit.triggers[0]
    trigger.drawing, trigger.since_s = drawing > 0.5, habit.working_s(NOW)
    found = times(habit, tank(Spread(200.0, 0.0)), drawing=(drawing,))
    assert (found[0], found[-1]) == pytest.approx((expected_s, expected_s), abs=LEAST_STEP_S)


@pytest.mark.parametrize("tap", [0.0, 5.0])
def test_while_the_crew_rests_nothing_is_drawn_and_the_tap_goes_on(tap):
    """Ten minutes of rest, then 20 l/min without end."""
    habit = crew()
    habit.resting, habit.since, habit.rest = True, NOW, exactly(600.0)
    found = times(habit, tank(Spread(100.0, 0.0)), Supply(tap, tap, 0.0, 0.0, 0.0))
    expected_s = 600.0 + 60.0 * (100.0 + 10.0 * tap) / (20.0 - tap)
    assert (found[0], found[-1]) == pytest.approx((expected_s, expected_s), rel=1e-4)


def test_over_a_rest_the_tank_fills_no_further_than_its_valve_lets_it():
    """Room for 200 l, held back from 190: after half an hour of rest it stands just under 200 and goes at 20 − 12, less
    what the valve still holds back on the first ten."""
    habit = crew()
    habit.resting, habit.since, habit.rest = True, NOW, exactly(1800.0)
    supply = Supply(12.0, 12.0, 0.0, 0.0, 0.0)
    found = times(habit, Water(Spread(100.0, 0.0), 200.0, 190.0), supply)
    throttled_s = 1800.0 + 60.0 * 190.0 / (20.0 - 12.0)
    assert throttled_s < found[0] <= found[-1] < throttled_s + 60.0 * 10.0 / (20.0 - 12.0)


@pytest.mark.parametrize("draw_l_min", [0.0, 5.0, 18.0, 20.0, 26.0, 40.0])
@pytest.mark.parametrize("left_l", [100.0, 189.0, 191.0, 200.0, 204.0])
@pytest.mark.parametrize("step_s", [1.0, 60.0, 400.0])
def test_the_float_valve_answers_as_its_equation_does(draw_l_min, left_l, step_s):
    """Reference: scipy's solver on dL/dt = c · clip((room − L)/band, 0, 1) − d."""
    water, came = Water(Spread(0.0, 0.0), 200.0, 190.0), 20.0 / 60.0
    draw = draw_l_min / 60.0

    def slope(_, left):
        return came * np.clip((200.0 - left) / 10.0, 0.0, 1.0) - draw

    expected = solve_ivp(slope, (0.0, step_s), [left_l], rtol=1e-8, atol=1e-8, max_step=5.0).y[0, -1]
    assert _through_the_valve(left_l, draw * step_s, step_s, water, came) == pytest.approx(expected, abs=1e-3)


# -- short cycles: the diffusion limit ---------------------------------------------------------------------------------


def cycles(mean_s, half_width_s):
    """Durations spread evenly about a mean; the guess for what was not seen lies among them."""
    durations = Durations(mean_s - half_width_s, mean_s + half_width_s)
    durations.remember([mean_s + half_width_s * (2 * (k + 0.5) / KEPT - 1) for k in range(KEPT)])
    return durations


def renewal(on, off, rate_l_min):
    """Drift (l/min) and variance (l² a min) of what an alternating renewal process draws.

    Drift r μ₁/(μ₁ + μ₂), variance r² (μ₂² σ₁² + μ₁² σ₂²)/(μ₁ + μ₂)³ (Cox, Renewal Theory, 1962, sec. 7.4). What was
    seen is smoothed by a log-normal kernel of width h: moments E x e^(h²/2) and E x² e^(2h²).
    """
    (m1, v1), (m2, v2) = (smoothed(d) for d in (on, off))
    share = m1 / (m1 + m2)
    return rate_l_min * share, rate_l_min**2 * (m2**2 * v1 + m1**2 * v2) / (m1 + m2) ** 3 / 60.0


def smoothed(durations):
    """Mean and variance."""
    h = width(durations.logs)
    middle = mean(durations.seen) * math.exp(h**2 / 2)
    return middle, mean(x * x for x in durations.seen) * math.exp(2 * h**2) - middle**2


def test_short_cycles_are_a_drifted_brownian_motion_to_the_heel():
    """With many short on/off cycles the water is a Brownian motion with drift, and the time to the heel follows the
    inverse Gaussian law (Schrödinger 1915; Folks and Chhikara 1978; scipy.stats.invgauss).

    What is compared: a trigger of 12 s on, 12 s off, ±7 s, whose drift and diffusion come from renewal theory, not
    from the simulation, at about the figures of a fast drain (175 gal at a net 8.5 gpm, σ = 2 gal a √min: mean 20.6,
    5 % 18.9, 95 % 22.4 min). One forecast draws from a bank of a few dozen futures, so the samples of 60 forecasts are
    put together. Tolerance 1.5 % of the time for each quantile, 10 % for the spread: half a cycle either way, and
    chance.
    """
    usable_l, tap, rate = 175 * L_PER_GAL, 5 * L_PER_GAL, 27 * L_PER_GAL
    on, off = cycles(12.0, 7.0), cycles(12.0, 7.0)
    gathered = []
    for seed in range(60):
        habit = crew(on=on, off=off)
        habit.triggers[0].since_s = habit.working_s(NOW)
        gathered += times(habit, tank(Spread(usable_l, 0.0)), Supply(tap, tap, 0, 0, 0), (Demand(Spread(rate, 0)),),
                          (float(seed % 2),), seed, 100)  # fmt: skip
    drift, variance = renewal(on, off, rate)
    drift -= tap
    assert math.sqrt(variance) / L_PER_GAL == pytest.approx(2.0, rel=0.1)
    mu, shape = usable_l / drift, usable_l**2 / variance
    law = invgauss(mu / shape, scale=shape)
    found = [t / 60.0 for t in at_quantiles(sorted(gathered))]
    expected = list(law.ppf(QUANTILES))
    assert found == pytest.approx(expected, rel=0.015)
    assert found[2] - found[0] == pytest.approx(expected[2] - expected[0], rel=0.1)


def test_the_law_itself_is_the_published_one():
    """175 gal, net 8.5 gpm, σ = 2 gal a √min: mean 20.588 min, sd 1.0676, quantiles 18.8806, 20.5606, 22.3901."""
    mu, shape = 175 / 8.5, 175**2 / 2.0**2
    law = invgauss(mu / shape, scale=shape)
    assert (law.mean(), law.std()) == pytest.approx((20.58824, 1.06763), rel=1e-4)
    assert list(law.ppf(QUANTILES)) == pytest.approx([18.8806, 20.5606, 22.3901], rel=1e-4)
    assert law.cdf(18.0) == pytest.approx(0.005119, rel=1e-3)


# -- small parts ----------------------------------------------------------------------------------------------------


def test_quantiles_of_a_sample():
    assert quantile([1.0, 2.0, 3.0, 4.0], 0.5) == pytest.approx(2.5)
    assert quantile([1.0, 2.0], 0.0) == 1.0
    assert quantile([1.0, 2.0], 1.0) == 2.0
    assert math.isinf(quantile([1.0, math.inf, math.inf], 0.95))
    assert quantile([1.0, 2.0, math.inf], 0.5) == pytest.approx(2.0)


def test_the_normal_quantile():
    """Reference: scipy."""
    for p in (0.001, 0.05, 0.1, 0.3, 0.5, 0.77, 0.95, 0.999):
        assert normal_quantile(p) == pytest.approx(norm.ppf(p), abs=5e-4)


def test_the_same_chances_give_the_same_times():
    assert times(crew(), tank(SURE), seed=5) == times(crew(), tank(SURE), seed=5)
