"""The filter at the heart: how much water there is, and who draws it, with honest spreads.

State, one vector a hypothesis:  x = [V, b, e, g, r₁ … rₙ]

    V   l        the water in the tank
    b   m        what the level reads too high here and now (tilt times the sensor's offset, drift)
    e   l/min    water that moves past the meter: a leak or a meter that reads low or high
    g   -        what the meter misses, as a share of what it counts (−0.03: it reads 3 % high)
    rᵢ  l/min    what pump i takes when it draws

Between two steps  V' = V + (1 + g)·M + e·Δt − Σ uᵢ·rᵢ·Δt,  with M what the meter passed and uᵢ the share of
the time that pump i drew; the rest walks at random, slowly. The level y, taken through the tank table, is
V + S·b + noise,  S = dV/dh.

Where a signal says which pumps draw, u is known and this is one Kalman filter. Where none does, each set of pumps is a
hypothesis with a filter of its own, weighed by how well it foretells the level, and mixed by the chance that a trigger
moves (the interacting multiple model of Blom and Bar-Shalom, IEEE Trans. Automatic Control 33, 1988). With level and
inflow alone, pumps of like size cannot be told apart; the weights then stay divided and only the sum is sharp.

The steps themselves lie in ``kalman.py``.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from monitor.balance.kalman import R0, B, E, G, Hypothesis, V, correct, fade, mixed, mixed_each, predict

LEAST_SHARE, MOST_SHARE = 0.6, 1.6  # of the nominal draw: outside, the rig file is wrong and not the pump
FAINT = 1e-7  # a hypothesis of less weight is dropped until a neighbour feeds it again


class Spreads(NamedTuple):
    """Starting spreads (sd) and random walks (variance a second). Broad on purpose: the data narrow them."""

    bias_m: float = 0.010  # a sensor 0.3 m off the centre on a slope of 2° reads 10 mm wrong
    bias_walk: float = 2e-9  # m²/s: about 3 mm in an hour
    unmetered_l_min: float = 0.5
    unmetered_walk: float = 2e-5  # (l/min)²/s: about 0.27 l/min in an hour
    unmetered_fade_s: float = 1800.0
    phantom_fade_s: float = 300.0
    """The same where a pump nobody watches is thought to draw: else a draw that is none and a gain that is none could
    hold each other up for hours."""
    gain: float = 0.03  # a meter in order is good to 2 % (OIML R 49, ISO 4064 class 2), an old one is not in order
    gain_walk: float = 1e-9  # 1/s: about 0.2 % in an hour
    draw_share: float = 0.12  # of the nominal draw
    draw_walk: float = 4e-6  # (l/min)²/s a (l/min)² of draw scaled: about 1 % of 12 l/min in an hour
    water_walk: float = 0.002  # l²/s: what moves between readings, unsteady triggers
    flow_walk: float = 0.004  # s: a flow is off by 2 % for ten seconds at a time
    switch_s: float = 200.0  # a trigger nobody watches moves about once in so long


class Belief(NamedTuple):
    """All hypotheses together."""

    volume_l: float
    volume_sd_l: float
    bias_m: float
    bias_sd_m: float
    unmetered_l_min: float
    unmetered_sd_l_min: float
    gain: float
    gain_sd: float
    rates_l_min: tuple[float, ...]
    """What each pump takes when it draws at full flow."""
    rates_sd_l_min: tuple[float, ...]
    draw_sum_l_min: float
    drawing: tuple[float, ...]
    """How probable it is that each pump draws, 0 to 1."""
    now_l_min: tuple[float, ...]
    """What each pump takes when it draws as it does now: less where it soaps."""
    now_sd_l_min: tuple[float, ...]


class Filter:
    """The balance of one tank with `nominal_l_min` pumps, begun at a level seen as `seen_l` (l, through the table)."""

    def __init__(
        self,
        nominal_l_min: tuple[float, ...],
        seen_l: float,
        slope: float,
        variance: float,
        spreads: Spreads | None = None,
        rates: tuple[tuple[float, float], ...] | None = None,
        metered: bool = True,
    ) -> None:
        self.spreads = spreads = spreads or Spreads()
        self.pumps, self.nominal_l_min = len(nominal_l_min), nominal_l_min
        if not metered:
            broad = {"unmetered_l_min": 15.0, "unmetered_walk": 0.05, "unmetered_fade_s": 1e9, "phantom_fade_s": 1e9}
            spreads = self.spreads = spreads._replace(**broad)
        size = R0 + self.pumps
        mean = [seen_l, 0.0, 0.0, 0.0, *nominal_l_min]
        draws = (spreads.draw_share * rate for rate in nominal_l_min)
        sds = [0.0, spreads.bias_m, spreads.unmetered_l_min, spreads.gain, *draws]
        for i, (rate, sd) in enumerate(rates or ()):
            mean[R0 + i], sds[R0 + i] = rate, sd
        cov = [[sds[i] ** 2 if i == j else 0.0 for j in range(size)] for i in range(size)]
        cov[V][V] = variance + (slope * spreads.bias_m) ** 2
        cov[V][B] = cov[B][V] = -slope * spreads.bias_m**2
        self.hypotheses = [Hypothesis(0, 1.0, mean, cov)]

    def step(self, dt_s: float, metered_l: float, shares: tuple[float | None, ...], unseen_var: float = 0.0) -> None:
        """`dt_s` seconds pass. `shares` says for each pump what part of them it drew, or None where nobody knows.

        `unseen_var` (l²) is the spread of water that may have passed uncounted.
        """
        self._switch(dt_s, shares)
        minutes = dt_s / 60.0
        s = self.spreads
        unseen_var += s.flow_walk * self._flows_l2(dt_s, metered_l, shares)
        walks = (s.water_walk, s.bias_walk, s.unmetered_walk, s.gain_walk)
        noise = [walk * dt_s for walk in walks]
        noise[V] += unseen_var
        noise += [s.draw_walk * dt_s] * self.pumps
        for hyp in self.hypotheses:
            moved = [1.0, 0.0, minutes, metered_l]
            for i, share in enumerate(shares):
                drew = share if share is not None else float(hyp.mask >> i & 1)
                moved.append(-drew * minutes)
            fade(hyp.mean, hyp.cov, math.exp(-dt_s / (s.phantom_fade_s if hyp.mask else s.unmetered_fade_s)))
            predict(hyp.mean, hyp.cov, moved, metered_l, noise)

    def _flows_l2(self, dt_s: float, metered_l: float, shares: tuple[float | None, ...]) -> float:
        """The squares of what came and what went in the step, a second (l²/s): the more flows, the more goes astray."""
        rates = self.hypotheses[0].mean[R0:]
        drawn_l = sum((1.0 if share is None else share) * rate for share, rate in zip(shares, rates, strict=True))
        return (metered_l * metered_l + (drawn_l * dt_s / 60.0) ** 2) / dt_s

    def _switch(self, dt_s: float, shares: tuple[float | None, ...]) -> None:
        """Mix the hypotheses by the chance that a trigger moved; drop those that a signal rules out."""
        free = [i for i, share in enumerate(shares) if share is None]
        if not free and len(self.hypotheses) == 1:
            self.hypotheses[0].mask = 0
            return
        known = sum(1 << i for i in range(self.pumps) if i not in free)
        sources = self._without(known)
        if not free:
            self.hypotheses = sources
            return
        moves = -math.expm1(-dt_s / self.spreads.switch_s)
        stays = (1.0 - moves) ** len(free)
        one_moves = moves * (1.0 - moves) ** (len(free) - 1)
        targets: dict[int, list[tuple[float, Hypothesis]]] = {}
        for source in sources:
            targets.setdefault(source.mask, []).append((stays * source.weight, source))
            for i in free:
                targets.setdefault(source.mask ^ (1 << i), []).append((one_moves * source.weight, source))
        self.hypotheses = [self._fed(mask, parts) for mask, parts in sorted(targets.items())]
        self._weigh()

    def _fed(self, mask: int, parts: list[tuple[float, Hypothesis]]) -> Hypothesis:
        total = sum(weight for weight, _ in parts)
        strong = [(w, source) for w, source in parts if w > 1e-6 * total]
        heard = sum(w for w, _ in strong)
        mean, cov = mixed([(w / heard, source) for w, source in strong])
        return Hypothesis(mask, total, mean, cov)

    def _without(self, known: int) -> list[Hypothesis]:
        """The hypotheses with the pumps that a signal speaks for merged out of them."""
        merged: dict[int, list[Hypothesis]] = {}
        for hyp in self.hypotheses:
            merged.setdefault(hyp.mask & ~known, []).append(hyp)
        if len(merged) == len(self.hypotheses):
            for hyp in self.hypotheses:
                hyp.mask &= ~known
            return self.hypotheses
        return [self._fed(mask, [(h.weight, h) for h in same]) for mask, same in merged.items()]

    def _weigh(self) -> None:
        total = sum(h.weight for h in self.hypotheses)
        kept = [h for h in self.hypotheses if h.weight > FAINT * total]
        total = sum(h.weight for h in kept)
        for hyp in kept:
            hyp.weight /= total
        self.hypotheses = kept

    def surprise(self, seen_l: float, slope: float, variance: float) -> tuple[float, float]:
        """How far a level lies from what is foretold (l), and the variance of that (l²): the nearest hypothesis."""
        best = (0.0, 1.0)
        least = math.inf
        for hyp in self.hypotheses:
            cov = hyp.cov
            spread = cov[V][V] + 2 * slope * cov[V][B] + slope * slope * cov[B][B] + variance
            off = seen_l - hyp.mean[V] - slope * hyp.mean[B]
            if off * off / spread < least:
                least, best = off * off / spread, (off, spread)
        return best

    def see(self, seen_l: float, slope: float, variance: float, new_place: bool = False) -> float:
        """Take in a level: `seen_l` through the tank table, `slope` = dV/dh (l/m), `variance` of its noise (l²).

        At a new place the same water stands at another tilt: there the level tells of the bias too.

        Returns how likely it was: the logarithm of its density, but for a constant.
        """
        logs = []
        for hyp in self.hypotheses:
            surprise, spread = correct(hyp.mean, hyp.cov, seen_l, slope, variance, learn_bias=new_place)
            logs.append(-0.5 * (surprise * surprise / spread + math.log(spread)))
        if len(logs) == 1:
            return logs[0]
        best = max(logs)
        for hyp, log in zip(self.hypotheses, logs, strict=True):
            hyp.weight *= math.exp(log - best)
        likely = best + math.log(sum(hyp.weight for hyp in self.hypotheses))
        self._weigh()
        return likely

    def bound(self, capacity_l: float) -> None:
        """Keep the estimate where the world can be: no water below nothing or above the brim, no pump that gives."""
        for hyp in self.hypotheses:
            mean = hyp.mean
            mean[V] = min(max(mean[V], 0.0), 1.02 * capacity_l)
            for k in range(R0, len(mean)):
                nominal = self.nominal_l_min[k - R0]
                mean[k] = min(max(mean[k], LEAST_SHARE * nominal), MOST_SHARE * nominal)

    def moved(self, step_m: float = 0.0) -> None:
        """The trailer was moved: the tilt, and so the bias, is a new one; the water is the same.

        `step_m`: by how much the level has been seen to step, where that is known to be tilt.
        """
        bias_m = self.hypotheses[0].mean[B] + step_m if step_m else 0.0
        self._forget(B, self.spreads.bias_m**2)
        for hyp in self.hypotheses:
            hyp.mean[B] = bias_m

    def no_tap(self) -> None:
        """On the road no hose is on: where no meter counts, nothing comes in."""
        self._forget(E, 0.0)

    def new_tap(self) -> None:
        """Another place, another tap: what it gives is open."""
        self._forget(E, self.spreads.unmetered_l_min**2)

    def doubt_unmetered(self, sd_l_min: float) -> None:
        """Water comes or goes that the meter does not tell of: let `e` find it quickly."""
        for hyp in self.hypotheses:
            hyp.cov[E][E] += sd_l_min * sd_l_min

    def stand(self, volume_l: float, volume_var: float, bias_m: float, bias_var: float, slope: float) -> None:
        """Begin anew with this volume and this bias, held together by the level that both have to do with; what is
        known of the pumps and of the unmetered flow is kept."""
        self._forget(B, bias_var)
        for hyp in self.hypotheses:
            cov = hyp.cov
            for j in range(len(hyp.mean)):
                cov[V][j] = cov[j][V] = 0.0
            hyp.mean[V], hyp.mean[B] = volume_l, bias_m
            cov[V][V] = volume_var
            cov[V][B] = cov[B][V] = -min(slope * bias_var, math.sqrt(volume_var * bias_var))

    def doubt_volume(self, sd_l: float) -> None:
        """The level and the balance have parted for good: let the level lead."""
        for hyp in self.hypotheses:
            hyp.cov[V][V] += sd_l * sd_l

    @property
    def volume_l(self) -> float:
        return sum(hyp.weight * hyp.mean[V] for hyp in self.hypotheses)

    def gain(self, slope: float, variance: float) -> list[float]:
        """How far each state would follow a level's surprise of one litre."""
        cov = max(self.hypotheses, key=lambda hyp: hyp.weight).cov
        heard = [first + slope * second for first, second in zip(cov[V], cov[B], strict=True)]
        spread = heard[V] + slope * heard[B] + variance
        return [each / spread for each in heard]

    def shift(self, change: Sequence[float]) -> None:
        """What was believed was off by so much."""
        for hyp in self.hypotheses:
            hyp.mean[:] = [x + off for x, off in zip(hyp.mean, change, strict=True)]

    def rate(self, pump: int) -> tuple[float, float]:
        """What a pump takes when it draws, and the sd of that (l/min)."""
        hyp = max(self.hypotheses, key=lambda each: each.weight)
        return hyp.mean[R0 + pump], math.sqrt(max(0.0, hyp.cov[R0 + pump][R0 + pump]))

    def set_rate(self, pump: int, mean: float, sd: float) -> None:
        """It takes another rate now."""
        self._forget(R0 + pump, sd * sd)
        for hyp in self.hypotheses:
            hyp.mean[R0 + pump] = mean
        self.nominal_l_min = tuple(mean if i == pump else each for i, each in enumerate(self.nominal_l_min))

    def lift(self, by_l: float) -> None:
        """It holds so much more than is believed; all that hangs together with the volume moves along."""
        for hyp in self.hypotheses:
            cov, per_l = hyp.cov[V], by_l / hyp.cov[V][V]
            hyp.mean[:] = [x + c * per_l for x, c in zip(hyp.mean, cov, strict=True)]

    def told(self, volume_l: float, sd_l: float) -> None:
        """A person looked: it stands here. The level's bias is what does not fit."""
        for hyp in self.hypotheses:
            correct(hyp.mean, hyp.cov, volume_l, 0.0, sd_l * sd_l, learn_bias=True)

    def _forget(self, k: int, variance: float) -> None:
        for hyp in self.hypotheses:
            for j in range(len(hyp.mean)):
                hyp.cov[k][j] = hyp.cov[j][k] = 0.0
            hyp.cov[k][k] = variance
            hyp.mean[k] = 0.0

    def belief(self, shares: tuple[float | None, ...]) -> Belief:
        hyps = self.hypotheses
        if len(hyps) == 1:
            mean, variance = hyps[0].mean, [line[k] for k, line in enumerate(hyps[0].cov)]
        else:
            mean, variance = mixed_each([(h.weight, h) for h in hyps])
        drawing = tuple(
            share if share is not None else sum(h.weight for h in hyps if h.mask >> i & 1)
            for i, share in enumerate(shares)
        )
        draw = 0.0
        for hyp in hyps:
            for i, share in enumerate(shares):
                drew = share if share is not None else float(hyp.mask >> i & 1)
                draw += hyp.weight * drew * hyp.mean[R0 + i]
        sds = [math.sqrt(max(0.0, each)) for each in variance]
        return Belief(
            mean[V], sds[V], mean[B], sds[B], mean[E], sds[E], mean[G], sds[G],
            tuple(mean[R0:]), tuple(sds[R0:]), draw, drawing, tuple(mean[R0:]), tuple(sds[R0:]),
        )  # fmt: skip
