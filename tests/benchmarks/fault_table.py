"""The fault campaign in one table, the targets beside what was measured."""

from collections.abc import Iterable, Iterator
from typing import Any

from tests.benchmarks.fault_kinds import KINDS

Record = dict[str, Any]
HEAD = f"{'fault':24}{'cases':>6}{'shown':>6}{'found':>7}{'median':>9}{'90 %':>9}   {'target':18}"
FALSE_TARGET, WRONG_TARGET = 0.1, 0.2


def printed(records: list[Record]) -> Iterator[str]:
    """All of it, line by line."""
    yield HEAD
    for name in KINDS:
        yield from _row(name, [f for r in records if r["what"] == name for f in r["faults"]])
    yield from _row("two at once", [f for r in records if r["what"] == "two at once" for f in r["faults"]])
    yield ""
    calm_h = sum(r["hours"] - r["faulty_h"] for r in records)
    faulty_h = sum(r["faulty_h"] for r in records)
    yield _rate("false flags", [one for r in records for one in r["false"]], calm_h, FALSE_TARGET)
    yield _rate("wrong diagnoses", [one for r in records for one in r["wrong"]], faulty_h, WRONG_TARGET)
    for sensors in sorted({r["sensors"] for r in records}):
        some = [r for r in records if r["sensors"] == sensors]
        false, wrong = (sum(len(r[key]) for r in some) for key in ("false", "wrong"))
        hours = sum(r["hours"] - r["faulty_h"] for r in some), sum(r["faulty_h"] for r in some)
        rates = 8 * false / max(hours[0], 1e-9), 8 * wrong / max(hours[1], 1e-9)
        yield f"    {sensors:14}{rates[0]:6.2f} false{rates[1]:7.2f} wrong"


def _row(name: str, faults: list[dict[str, Any]]) -> Iterator[str]:
    """A fault that showed for less than the time in which it should be found counts only where it was found."""
    kind = KINDS.get(name)
    fair_s = kind.targets_s[1] if kind and kind.targets_s else 60.0
    shown = [f for f in faults if f["after_s"] is not None or f["shown_s"] >= fair_s]
    if not shown:
        return
    times = sorted(f["after_s"] if f["after_s"] is not None else float("inf") for f in shown)
    found = sum(f["after_s"] is not None for f in shown)
    aims = " / ".join(_time(aim) for aim in kind.targets_s) if kind and kind.targets_s else ""
    yield (
        f"{name:24}{len(faults):6}{len(shown):6}{100 * found / len(shown):6.0f}%"
        f"{_time(_quantile(times, 0.5)):>9}{_time(_quantile(times, 0.9)):>9}   {aims:18}"
    )


def _rate(name: str, told: list[Any], hours: float, target: float) -> str:
    names: dict[str, int] = {}
    for _, alarm, why in told:
        said = f"{alarm} {why}".strip()
        names[said] = names.get(said, 0) + 1
    most = ", ".join(f"{n}× {said}" for said, n in sorted(names.items(), key=lambda item: -item[1]))
    return f"{name} in 8 h: {8.0 * len(told) / max(hours, 1e-9):.2f} (target {target}; {hours:.0f} h) {most}"


def _quantile(times: list[float], q: float) -> float:
    return times[min(len(times) - 1, int(q * len(times)))]


def _time(seconds: float) -> str:
    if seconds == float("inf"):
        return "never"
    return f"{seconds:.0f} s" if seconds < 180 else f"{seconds / 60:.1f} min"


def misses(records: Iterable[Record]) -> Iterator[str]:
    """Each fault that showed and was not named, and each alarm that was wrong: the numbers to play again."""
    for r in records:
        lost = [f"{f['name']} after {f['after_s']} of {f['shown_s']} s" for f in r["faults"]]
        if r["false"] or r["wrong"] or any(f["after_s"] is None for f in r["faults"]):
            told = f"false {r['false']} wrong {r['wrong']}"
            yield f"{r['key']:4} {r['what']:22} {r['sensors']:12} {'; '.join(lost)} {told}"
