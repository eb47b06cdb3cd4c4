"""Calibrations while they run: what a person begins, what is logged meanwhile, what came of it, and what is kept.

Everything comes through acts and ticks, so a replay of the day calibrates the same.
"""

from math import sqrt
from statistics import median
from typing import Any, NamedTuple

from monitor.balance.level import Seen
from monitor.calibration import bucket, draw, fill, two_point
from monitor.calibration.unfit import Unfit
from monitor.core.calibrated import Kept, in_force, on_file
from monitor.core.intake import Intake
from monitor.readings import Act
from monitor.rig.model import Rig
from monitor.tank.strapping import Strapping

LONGEST_S = 6 * 3600
LOOK_BACK_S = 15.0
LEAST_READINGS = 5
UNKNOWN_GAIN = 0.04
"""How well an uncalibrated meter is trusted, 95 %. Common practice, no published source."""
MOST_KEPT = 100


class Sample(NamedTuple):
    """One second of a run."""

    at: float
    height_m: float
    counted_l: float


class Run:
    """A fill, a bucket or a draw test that has begun."""

    def __init__(self, what: str, of: str, at: float, counted_l: float, restarts: int, start_l: float | None) -> None:
        self.what, self.of, self.at, self.start_l = what, of, at, start_l
        self.counted_l, self.restarts = counted_l, restarts
        self.samples: list[Sample] = []
        self.totals_l = [counted_l]
        self.disturbed = ""


class Calibrating:
    """`file_rig` as on file, `rig` with the calibrations in force."""

    def __init__(self, file_rig: Rig, rig: Rig, intake: Intake, kept: list[Kept]) -> None:
        self.file_rig, self.rig, self.intake, self.kept = file_rig, rig, intake, kept
        self.run: Run | None = None
        self.result: dict[str, Any] | None = None
        """What came of the last run, kept or not yet: an entry as in `kept`, or one with "refused"."""
        self.fillings: list[bucket.Filling] = []
        self.points: dict[str, list[two_point.Point]] = {}
        self._step_l = 0.0

    # -- while it runs --------------------------------------------------------------------------------------------

    def tick(self, at: float, seen: Seen | None) -> None:
        """Once a second."""
        run = self.run
        if run is None or at - run.at > LONGEST_S:
            return
        counted_l = self._counted_l()
        run.totals_l.append(counted_l)
        if seen is not None:
            run.samples.append(Sample(at, seen.height_m, counted_l - run.counted_l))
        for pump in self.intake.pumps:
            if pump.drawing and pump.name != run.of and run.what in ("fill", "draw"):
                run.disturbed = "another-pump-drew"

    def _counted_l(self) -> float:
        return 0.0 if self.intake.meter is None else self.intake.meter.counted_l

    def _restarts(self) -> int:
        return 0 if self.intake.meter is None else self.intake.meter.restarts

    # -- what people do -------------------------------------------------------------------------------------------

    def check(self, detail: dict[str, Any]) -> str | None:
        """Why an act can't be taken now; None where it can."""
        step, what = detail.get("step"), str(detail.get("what", ""))
        if step in ("begin", "point"):
            return self._place(what, str(detail.get("of") or "")) or self._can_begin(str(step), detail)
        if step == "end":
            if self.run is None:
                return "nothing-begun"
            return "no-known-volume" if self.run.what == "bucket" and not detail.get("known_l") else None
        if step == "keep":
            return None if self.result and "after" in self.result else "nothing-to-keep"
        if step == "undo":
            if self.run is not None:
                return "another-runs"
            found = [each for each in self.kept if (each["what"], each["of"]) == (what, detail.get("of") or "")]
            return None if found else "nothing-to-undo"
        return None if step == "drop" else "no-such-step"

    def _can_begin(self, step: str, detail: dict[str, Any]) -> str | None:
        if step == "point":
            return "no-height" if detail.get("height_m") is None else None
        return "another-runs" if self.run is not None else None

    def _place(self, what: str, of: str) -> str | None:
        try:
            on_file(self.rig, what, of)
        except LookupError:
            return "no-such-thing"
        return "no-meter" if what == "fill" and self.intake.meter is None else None

    def take(self, act: Act) -> bool:
        """Takes in an act that `check` has let through; True where the calibrations in force have changed."""
        detail = act.detail or {}
        if self.check(detail) is not None:
            return False
        step, what, of = detail["step"], str(detail.get("what", "")), str(detail.get("of") or "")
        if step == "begin":
            self._begin(act.at, what, of, detail)
        elif step == "point":
            self._weigh(lambda: self._point(act.at, of, float(detail["height_m"])), "level", of)
        elif step == "end":
            run, self.run = self.run, None
            assert run is not None
            self._weigh(lambda: self._ended(run, detail), run.what, run.of)
        elif step == "drop":
            self.run = self.result = None
            self.fillings, self.points = [], {}
        elif step == "undo":
            last = max(i for i, each in enumerate(self.kept) if (each["what"], each["of"]) == (what, of))
            del self.kept[last]
            return True
        elif step == "keep":
            return self._keep(act)
        return False

    def _begin(self, at: float, what: str, of: str, detail: dict[str, Any]) -> None:
        start_l = detail.get("start_l")
        self.run = Run(what, of, at, self._counted_l(), self._restarts(), None if start_l is None else float(start_l))
        if what != "bucket" or (self.result and self.result["what"] != "bucket"):
            self.fillings = []
        self.result = None

    def _keep(self, act: Act) -> bool:
        assert self.result is not None
        self.kept.append(self.result | {"at": act.at, "by": act.by})
        del self.kept[:-MOST_KEPT]
        self.result, self.fillings, self.points = None, [], {}
        return True

    # -- what comes of it -----------------------------------------------------------------------------------------

    def _weigh(self, find: Any, what: str, of: str) -> None:
        """The result, or why there is none."""
        try:
            after, spread, figures = find()
        except Unfit as unfit:
            self.result = {"what": what, "of": of, "refused": unfit.why, "figures": unfit.figures}
            return
        self.result = {
            "what": what, "of": of, "file": on_file(self.file_rig, what, of), "before": on_file(self.rig, what, of),
            "after": after, "spread": spread, "figures": figures,
        }  # fmt: skip

    def _ended(self, run: Run, detail: dict[str, Any]) -> tuple[Any, Any, dict[str, Any]]:
        if run.disturbed:
            raise Unfit(run.disturbed)
        if self._restarts() != run.restarts:
            raise Unfit("meter-restarted")
        if run.what == "bucket":
            seconds = detail.get("seconds")
            return self._bucket(run, float(detail["known_l"]), None if seconds is None else float(seconds))
        return self._filled(run) if run.what == "fill" else self._drawn(run)

    def _bucket(self, run: Run, known_l: float, seconds: float | None) -> tuple[Any, Any, dict[str, Any]]:
        self._step_l = bucket.quantum_l([*run.totals_l, self._counted_l()])
        self.fillings.append(bucket.Filling(self._counted_l() - run.counted_l, known_l, seconds))
        try:
            found = bucket.bucket(self.fillings, self._step_l)
        except Unfit:
            self.fillings.pop()
            raise
        before = float(on_file(self.rig, "bucket", ""))
        pulses = self.rig.supply is not None and bool(self.rig.supply.k_factor_per_l)
        return before / found.factor if pulses else before * found.factor, found.spread, found._asdict()

    def _filled(self, run: Run) -> tuple[Any, Any, dict[str, Any]]:
        seconds = [fill.Second(s.at, s.height_m, s.counted_l) for s in run.samples]
        table = self.rig.tank.strapping
        before = fill.Before(table.height_m, table.volume_l, table.rows, self.rig.tank.capacity_l)
        found = fill.strap(seconds, before, self._gain_spread(), run.start_l)
        rows = [[round(height, 5), round(volume, 3)] for height, volume in found.rows]
        try:
            Strapping.of_tank([(height, volume) for height, volume in rows], self.rig.tank.capacity_l)
        except ValueError:
            raise Unfit("level-does-not-follow") from None
        figures = {
            "measured": found.measured, "kinks_m": found.kinks_m, "noise_m": found.noise_m,
            "metered_l": found.metered_l, "before_l": [table.volume_l(height) for height, _ in found.rows],
        }  # fmt: skip
        return rows, [round(spread, 2) for spread in found.spreads_l], figures

    def _gain_spread(self) -> float:
        """How well the meter is known: by the bucket test in force, else not well."""
        tests = [each for each in in_force(self.file_rig, self.kept) if each["what"] == "bucket"]
        return float(tests[-1]["spread"]) if tests else UNKNOWN_GAIN

    def _drawn(self, run: Run) -> tuple[Any, Any, dict[str, Any]]:
        table = self.rig.tank.strapping
        seconds = [draw.Second(s.at, s.height_m, table.volume_l(s.height_m), s.counted_l) for s in run.samples]
        found = draw.draw(seconds)
        return found.l_min, found.spread_l_min, found._asdict()

    def _point(self, at: float, of: str, true_m: float) -> tuple[Any, Any, dict[str, Any]]:
        level = next(level for level in self.intake.levels if level.settings.reading == of)
        heights = [height for when, height in level.sense.recent if at - when <= LOOK_BACK_S]
        if len(heights) < LEAST_READINGS:
            raise Unfit("level-was-silent", gap_s=LOOK_BACK_S)
        middle = median(heights)
        noise_m = sqrt(sum((height - middle) ** 2 for height in heights) / (len(heights) - 1) / len(heights))
        points = [*self.points.get(of, []), two_point.Point(true_m, middle, noise_m)][-2:]
        found = two_point.two_point(points, self.rig.tank.strapping.top_m)
        self.points[of] = points
        scale, offset_m = on_file(self.rig, "level", of)
        after = [scale * found.scale, offset_m * found.scale + found.shift_m]
        return after, found.spread_m, {"points": [point._asdict() for point in points]}

    # -- for the pages --------------------------------------------------------------------------------------------

    def standing(self, at: float) -> dict[str, Any]:
        """What runs, what came of it, what is kept and in force."""
        run = self.run
        last = run.samples[-1] if run is not None and run.samples else None
        running = None if run is None else {
            "what": run.what, "of": run.of, "since_s": round(at - run.at, 1), "seconds": len(run.samples),
            "height_m": last and last.height_m, "rose_m": last and last.height_m - run.samples[0].height_m,
            "counted_l": self._counted_l() - run.counted_l,
        }  # fmt: skip
        force = in_force(self.file_rig, self.kept)
        kept = [each | {"in_force": each in force} for each in self.kept]
        return {"run": running, "result": self.result, "fillings": len(self.fillings), "kept": kept}
