"""The one table: every score of every method, split by sensors, crew and fault, and the shifts that went worst."""

import math
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any, NamedTuple

from tests.benchmarks.rivals import FIXED, NAMES
from tests.benchmarks.scores import LEVELS, UNSAID, covered, dressing, interval_score, mean, share
from tests.benchmarks.shift import OURS

Record = dict[str, Any]
HEAD = (
    f"{'':26}{'shifts':>7}{'inst.':>7}{'loss s':>8}{'÷orac':>7}{'÷nomi':>7}{'  5/50/95 % covered':>20}{'null%':>6}"
    f"{'dries':>6}{'miss':>5}{'late':>5}{'nuis/8h':>8}{'lead 5/50/95 s':>16}{'stand h':>8}{'stays':>6}{'clings':>7}"
)
WORST = 12


class Instant(NamedTuple):
    """One scored instant: outcome and quantiles in s. `best` is None where the oracle was not asked."""

    t: float
    outcome: float
    ours: tuple[float, ...] | None
    points: tuple[float, ...]
    best: tuple[float, ...] | None


class Played:
    """A shift's record, read back."""

    def __init__(self, record: Record) -> None:
        self.record = record
        self.seed, self.family = record["key"][:2]
        self.aboard, self.faults = record["aboard"], record["faults"]

    @cached_property
    def instants(self) -> list[Instant]:
        return [
            Instant(t, _back([y])[0], ours and _back(ours), _back(points), best and _back(best))
            for t, y, ours, points, best in self.record["instants"]
        ]

    def warned(self, name: str) -> dict[str, list[float]]:
        warned: dict[str, list[float]] = self.record["warnings"][name]
        return warned


def _back(kept: Iterable[float]) -> tuple[float, ...]:
    return tuple(math.inf if v < 0.0 else v for v in kept)


def ours_of(i: Instant) -> tuple[float, ...]:
    return i.ours if i.ours is not None else UNSAID


def loss(shifts: list[Played]) -> float:
    return mean([interval_score(ours_of(i), i.outcome) for s in shifts for i in s.instants])


def against_oracle(shifts: list[Played]) -> float:
    """Our loss over the oracle's, on the instants at which it was asked."""
    asked = [i for s in shifts for i in s.instants if i.best is not None]
    best = sum(interval_score(i.best or UNSAID, i.outcome) for i in asked)
    return sum(interval_score(ours_of(i), i.outcome) for i in asked) / best if best else math.nan


class Rival:
    """A rival's loss, bare and dressed; dressed with the error bars that suit all the shifts of the table best."""

    def __init__(self, index: int, shifts: list[Played]) -> None:
        self.index = index
        pairs = [(i.points[index], i.outcome) for s in shifts for i in s.instants]
        self.factors = dressing([p for p, _ in pairs], [y for _, y in pairs]) if pairs else [1.0] * 3

    def losses(self, shifts: list[Played], dressed: bool) -> list[float]:
        factors = self.factors if dressed else [1.0] * 3
        return [
            interval_score([f * i.points[self.index] for f in factors], i.outcome) for s in shifts for i in s.instants
        ]


def printed(records: list[Record]) -> Iterator[str]:
    """The table's lines."""
    shifts = [Played(record) for record in records]
    nominal = Rival(NAMES.index("nominal draw - inflow"), shifts)
    yield HEAD
    for title, some in _groups(shifts):
        yield _line(title, some, nominal)
    yield ""
    yield from _rivals(shifts)
    yield ""
    yield from _state(shifts)
    yield ""
    yield from _worst(shifts, nominal)


def _groups(shifts: list[Played]) -> Iterator[tuple[str, list[Played]]]:
    yield "all", shifts
    for name, which in (("drawing", ("drawing",)), ("running", ("running",)), ("neither", ("level", "level+meter"))):
        yield f"  {name}", [s for s in shifts if s.aboard in which]
    yield "    level alone", [s for s in shifts if s.aboard == "level"]
    for family in sorted({s.family for s in shifts}):
        yield f"  {family} crew", [s for s in shifts if s.family == family]
    yield "  no fault", [s for s in shifts if not s.faults]
    yield "  a fault", [s for s in shifts if s.faults]
    yield "    of a signal", [s for s in shifts if s.record["signal_fault"]]
    yield "    none of a signal", [s for s in shifts if not s.record["signal_fault"]]


def _line(title: str, shifts: list[Played], nominal: Rival) -> str:
    instants = [i for s in shifts for i in s.instants]
    if not instants:
        return f"{title:26}{len(shifts):7}      –"
    held = mean(nominal.losses(shifts, dressed=True)) or math.nan
    null = mean([i.ours is None for i in instants])
    return (
        f"{title:26}{len(shifts):7}{len(instants):7}{loss(shifts):8.1f}{against_oracle(shifts):7.2f}"
        f"{loss(shifts) / held:7.2f}{_coverage([(ours_of(i), i.outcome) for i in instants]):>20}{100 * null:6.1f}"
        f"{_warned(shifts, OURS)}"
    )


def _coverage(pairs: list[tuple[tuple[float, ...], float]]) -> str:
    """Each quantile's, over the instants at which it says less than the cap."""
    shares = []
    for k in range(len(LEVELS)):
        told = [c for quantiles, y in pairs if (c := covered(quantiles, y)[k]) is not None]
        shares.append(100.0 * mean([float(c) for c in told]))
    return "/".join(f"{s:.1f}" for s in shares)


def _warned(shifts: list[Played], name: str) -> str:
    said = [s.warned(name) for s in shifts]
    hours = sum(s.record["hours"] for s in shifts)
    count = {k: sum(len(w[k]) for w in said) for k in ("dries", "missed", "late", "nuisances", "overstays", "clings")}
    leads = [lead for w in said for lead in w["leads"]]
    lead = "/".join(f"{share(leads, p):.0f}" for p in LEVELS)
    stands = sum(sum(w["standing"]) for w in said) / 3600.0
    return (
        f"{count['dries']:6}{count['missed']:5}{count['late']:5}{count['nuisances'] * 8 / hours:8.2f}{lead:>16}"
        f"{stands * 8 / hours:8.2f}{count['overstays']:6}{count['clings']:7}"
    )


def _rivals(shifts: list[Played]) -> Iterator[str]:
    yield f"{'beside it':26}{'loss s bare':>14}{'dressed':>9}{'÷ ours':>8}  …  warnings as above"
    base = loss(shifts)
    yield f"{FIXED:26}{'–':>14}{'–':>9}{'':8}{'':26}{_warned(shifts, FIXED)}"
    for index, name in enumerate(NAMES):
        rival = Rival(index, shifts)
        bare, dressed = (mean(rival.losses(shifts, d)) for d in (False, True))
        yield f"{name:26}{bare:14.1f}{dressed:9.1f}{dressed / base:8.2f}{'':26}{_warned(shifts, name)}"
    asked = [(i.best, i.outcome) for s in shifts for i in s.instants if i.best is not None]
    if asked:
        limit = mean([interval_score(q, y) for q, y in asked])
        ours = mean([interval_score(ours_of(i), i.outcome) for s in shifts for i in s.instants if i.best is not None])
        yield f"{'oracle':26}{limit:14.1f}{'':9}{'':8}{_coverage(asked):>26}  ({len(asked)} instants; ours {ours:.1f})"


def _state(shifts: list[Played]) -> Iterator[str]:
    yield f"{'volume and draw':26}{'vol err median l':>18}{'95 %':>8}{'NEES':>8}{'pump rms %':>12}{'median %':>10}" \
        f"{'soaping rms %':>15}{'untold %':>10}{'sum rms l/min':>15}"  # fmt: skip
    for title, some in _groups(shifts):
        volumes = [v for s in some for v in s.record["volume"]]
        off = [abs(error) for _, error, _ in volumes]
        nees = mean([(error / max(sd, 1e-3)) ** 2 for _, error, sd in volumes])
        pump, soaping, untold, total = (
            [e for s in some for e in s.record["draw"].get(k, ())] for k in ("pump", "soaping", "untold", "sum")
        )
        yield (
            f"{title:26}{share(off, 0.5):18.2f}{share(off, 0.95):8.1f}{nees:8.2f}{100 * _rms(pump):12.1f}"
            f"{100 * share([abs(e) for e in pump], 0.5):10.2f}{100 * _rms(soaping):15.2f}{100 * mean(untold):10.1f}"
            f"{_rms(total):15.2f}"
        )


def _rms(errors: list[float]) -> float:
    return math.sqrt(mean([e * e for e in errors]))


def _worst(shifts: list[Played], nominal: Rival) -> Iterator[str]:
    """By what was lost in sum beyond the oracle, or without one beyond dressed nominal draw minus inflow."""
    ranked = sorted(((_excess(s, nominal), s) for s in shifts), key=lambda pair: -pair[0])
    yield "the shifts that went worst, and every missed, late or needless warning (s of the shift)"
    for place, (excess, s) in enumerate(ranked):
        warned = s.warned(OURS)
        wrong = {k: [round(t) for t in warned[k]] for k in ("missed", "late", "nuisances", "clings") if warned[k]}
        if place < WORST or any(k != "clings" for k in wrong):
            faults = ", ".join(f"{w} {at}" for w, at in zip(s.faults, s.record["fault_at"], strict=True)) or "no fault"
            said = "; ".join(f"{k} {times}" for k, times in wrong.items())
            yield f"  {s.seed:5} {s.family:10}{s.aboard:12} excess {excess:8.0f}  loss {loss([s]):6.1f} " \
                f"÷orac {against_oracle([s]):5.2f}  {faults}  {said}"  # fmt: skip


def _excess(s: Played, nominal: Rival) -> float:
    asked = [i for i in s.instants if i.best is not None]
    if asked:
        return sum(interval_score(ours_of(i), i.outcome) - interval_score(i.best or UNSAID, i.outcome) for i in asked)
    return sum(interval_score(ours_of(i), i.outcome) for i in s.instants) - sum(nominal.losses([s], dressed=True))
