"""What each choice of sensors costs in accuracy: the same shifts, with other sensors, through the monitor's own core.

    PYTHONPATH=. python tests/benchmarks/sensor_choices.py

A box tank of 1 m² (317 gal, 1200 l), two pumps of some 22 and 14 l/min that work and pause, a tap that opens and
closes; an hour and a half for each seed, scored each ten seconds after the first ten minutes. The error of the volume
is that of the forecasts' `volume_l`; that of the time to dry is `dry_if_kept_s` against the truth's, while water
falls and the truth is under 30 min. The table in firmware_notes/guide_sensors.md is this program's output.
"""

import sys
from pathlib import Path
from random import Random
from statistics import median
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[1]))

from trailer import HEEL_L, RATES, RIG, Watched

from monitor.core import Core
from monitor.readings import Record
from monitor.rig.load import parse

SEEDS = 2
GAL = 3.785411784


class Choice(NamedTuple):
    """A rig: noise of its level (m, 1 sd), a trailer that stands so far off level at the sensor (m), what it has."""

    name: str
    noise_m: float = 0.004
    askew_m: float = 0.0
    meter: bool = True
    gain: float = 1.0
    drawing: bool = True
    level_hz: int = 2


CHOICES = (
    Choice("level, meter, a drawing signal on each pump"),
    Choice("the same, meter reads 3 % high (no bucket test)", gain=1.03),
    Choice("the same, meter reads 7 % high (no bucket test)", gain=1.07),
    Choice("level and meter, no signal from the pumps", drawing=False),
    Choice("level and drawing signals, no meter", meter=False),
    Choice("level alone", meter=False, drawing=False),
    Choice("all three, level noisier: 10 mm", noise_m=0.010),
    Choice("all three, level noisier: 20 mm", noise_m=0.020),
    Choice("all three, one level reading in 5 s", level_hz=0),
    Choice("all three, sensor off the middle, trailer askew: 25 mm", askew_m=0.025),
)


class Shift(Watched):
    def __init__(self, choice: Choice, seed: int) -> None:
        text = RIG.replace("CLOCK", "arrival")
        if not choice.meter:
            text = text.replace('[supply]\nreading = "inlet/total"\nmeasures = "total"\n', "")
        if not choice.drawing:
            for node in ("rides", "stalls"):
                text = text.replace(f'running = "{node}/running"\ndrawing = "{node}/drawing"\n', "")
        rates = {name: rate * (1 + 0.04 * (seed % 3 - 1)) for name, rate in RATES.items()}
        hz = max(choice.level_hz, 1)
        super().__init__(900.0, core=Core(parse(text)), noise_m=choice.noise_m, seed=seed, level_hz=hz, rates=rates)
        self.choice, self.volume_off_l, self.dry_off_s = choice, [], []
        self.true_total_l = 0.0

    def _level(self, level_m, moving):
        if self.choice.level_hz == 0 and int(self.at) % 5:
            return
        for k in range(self.level_hz):
            height = self.volume_l / 1000 + self.choice.askew_m + self.random.gauss(0, self.noise_m)
            self.send(0.1 + 0.8 * k / self.level_hz, "tank", Record("tank/level", "m", round(height, 3)))

    def second(self, drawing, tap):
        """The meter's own gain is in its total alone."""
        self.total_l += (self.choice.gain - 1.0) * tap / 60
        self.runs(1, *drawing, tap=tap)
        if self.forecasts and self.forecasts[-1].at == self.at and self.at - self.forecasts[0].at > 600:
            self.score(self.forecasts[-1].line(), sum(self.rates[name] for name in drawing) - tap)

    def score(self, line, falls_l_min):
        if line["volume_l"] is None:
            return
        self.volume_off_l.append(abs(line["volume_l"] - self.volume_l))
        true_s = 60 * (self.volume_l - HEEL_L) / falls_l_min if falls_l_min > 2.0 else 1e9
        if 0 < true_s < 1800 and line["dry_if_kept_s"] is not None:
            self.dry_off_s.append(abs(line["dry_if_kept_s"] - true_s) / true_s)


def run(choice: Choice, seed: int) -> Shift:
    shift, random = Shift(choice, seed), Random(1000 + seed)
    while shift.at - shift.forecasts[0].at < 5400 if shift.forecasts else True:
        drawing = [name for name in RATES if random.random() < 0.7] if shift.volume_l > 180 else []
        tap = 0.0 if shift.volume_l > 900 else random.choice((0.0, 18.0, 22.0)) if shift.volume_l > 250 else 24.0
        for _ in range(random.randint(40, 200)):
            if shift.volume_l < 140:
                drawing = []
            shift.second(drawing, tap if shift.volume_l < 1100 else 0.0)
    return shift


def share(values, part):
    return sorted(values)[min(int(part * len(values)), len(values) - 1)]


def main() -> None:
    heads = ("volume off, half of the time under", "19 times in 20 under", "time to dry off, half under", "19 in 20")
    print(f"| sensors | {' | '.join(heads)} |")
    print("|---|---|---|---|---|")
    for choice in CHOICES:
        shifts = [run(choice, seed) for seed in range(SEEDS)]
        off = [value / GAL for shift in shifts for value in shift.volume_off_l]
        dry = [100 * value for shift in shifts for value in shift.dry_off_s]
        said = f"{median(dry):.0f} % | {share(dry, 0.95):.0f} %" if dry else "– | –"
        print(f"| {choice.name} | {median(off):.1f} gal | {share(off, 0.95):.1f} gal | {said} |", flush=True)


if __name__ == "__main__":
    main()
