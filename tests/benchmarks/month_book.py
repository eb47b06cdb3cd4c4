"""A month of simulated work, and its book held against the world's truth.

    python -m tests.benchmarks.month_book [--days 22] [--hours 6] [--seed-from 1] [--keep FOLDER]

The fairground's rig and crew, another tap and another family of people each day, one meter with one error all month,
drawn within what its class allows. Each day a core begins with what the one before had learned, and the journal is
written as the daemon does, without the raw readings. With --keep the journal stays, for `holdwater journal` or the
page to show it.
"""

import argparse
import json
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from monitor.changes import Change
from monitor.core import Core
from monitor.feeds.simulated import read
from monitor.journal.book import Day, book, total
from monitor.journal.retention import RAW_TABLES
from monitor.journal.stored import opened
from monitor.journal.writer import Journal
from monitor.readings import Act, Event, Passing
from monitor.rig.load import parse
from simulated_feeds.scenario import load_scenario, make_scenario
from simulated_feeds.shifts import FAMILIES
from simulated_feeds.story import Story

METER_ERROR = 0.02
"""A water meter of accuracy class 2 in its upper flow zone: OIML R 49 / ISO 4064, from memory."""
FIRST_AT = 1_793_710_800.0  # 2026-11-03 07:00 in Chicago
DAY_S = 86_400.0
SITES = ("North field", "Fairground", "Mill lane")
GPM = (3.6, 6.4)


class Lived(NamedTuple):
    """One day's truth, in l."""

    in_l: float
    used_l: float
    pumps_l: dict[str, float]


def month(journal_file: Path, days: int, hours: float, seed: int = 1) -> Iterator[Lived]:
    """Lives the days one by one and writes their journal."""
    random = Random(seed)
    gain = 1.0 + random.uniform(-METER_ERROR, METER_ERROR)
    kept = Kept(journal_file)
    saved: dict[str, Any] | None = None
    for number in range(days):
        story = _story(number, hours, gain, random)
        core = Core(parse(story.rig_toml), saved)
        _watch(story, core, kept, SITES[number % len(SITES)])
        saved = json.loads(json.dumps(core.save()))
        yield _truth(story)
    kept.journal.close()


class Steps:
    """A clock that moves on by five seconds each time it is read, so that each round writes."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        self.now_s += 5.0
        return self.now_s


def _story(number: int, hours: float, gain: float, random: Random) -> Story:
    plain = load_scenario("fairground")
    tap = {"flow": f"{random.uniform(*GPM):.2f} gpm"}
    crew = {**plain.tables["crew"], "family": FAMILIES[number % len(FAMILIES)]}
    sensors = {**plain.tables.get("sensor", {}), "inlet/total": {"gain": gain}}
    tables = {**plain.tables, "hours": hours, "tap": tap, "crew": crew, "sensor": sensors}
    scenario = make_scenario("month", tables, plain.rig_toml)
    return Story(scenario, 100 + number, FIRST_AT + DAY_S * number)


class Kept:
    """The journal, given what the daemon would keep for good, the forecasts, and that time passed."""

    def __init__(self, file: Path) -> None:
        self.journal = Journal(file, Steps())
        self.last_at = 0.0

    def put(self, event: Event, changes: Sequence[Change]) -> None:
        for change in changes:
            self._pass(change.at)
            self.journal.put(change)
        if isinstance(event, Act):
            self.last_at = event.at
            self.journal.put(event)
        if changes:
            self.journal.step()

    def _pass(self, at: float) -> None:
        if at > self.last_at:
            self.last_at = at
            self.journal.put(Passing(at))


def _watch(story: Story, core: Core, kept: Kept, site: str) -> None:
    """The day through the core, within a job."""
    begun = False
    for said in story.events():
        event = read(said, "simulated 1")
        kept.put(event, core.take(event))
        if not begun:
            begun = True
            _act(core, kept, Act(event.at + 1e-6, "start-job", "Ann", None, {"site": site}))
    _act(core, kept, Act(story.end_at + 1.0, "finish-job", "Ann"))


def _act(core: Core, kept: Kept, act: Act) -> None:
    kept.put(act, core.take(act))


def _truth(story: Story) -> Lived:
    """What really flowed, by the world's own stretches of time."""
    names = [pump.name for pump in story.world.pumps]
    until_s = story.end_at - story.start_at
    pumps_l, in_l = dict.fromkeys(names, 0.0), 0.0
    for segment in story.world.segments:
        minutes = max(0.0, min(segment.end_s, until_s) - segment.start_s) / 60.0
        in_l += segment.inflow_l_min * minutes
        for name, draw in zip(names, segment.draw_l_min, strict=True):
            pumps_l[name] += draw * minutes
    return Lived(in_l, sum(pumps_l.values()), pumps_l)


def told(lived: Sequence[Lived], days: Sequence[Day]) -> tuple[list[str], bool]:
    """The book beside the truth, and whether the month agrees within the meter's error."""
    sum_ = total(days)
    truth = Lived(sum(d.in_l for d in lived), sum(d.used_l for d in lived),
                  {n: sum(d.pumps_l[n] for d in lived) for n in lived[0].pumps_l})  # fmt: skip
    rows = [("water in", truth.in_l, sum_.in_l), ("water used", truth.used_l, sum_.used_l)]
    lines = [f"{len(days)} days, {sum_.watched_s / 3600.0:.1f} h watched; the meter's class allows {METER_ERROR:.0%}"]
    ok = len(days) == len(lived)
    for name, true_l, booked_l in rows:
        off = booked_l / true_l - 1.0
        ok = ok and abs(off) <= METER_ERROR
        lines.append(f"{name:<12} true {true_l:9.1f} l   book {booked_l:9.1f} l   off {off:+.2%}")
    for name, true_l in truth.pumps_l.items():
        lines.append(f"  {name:<10} true {true_l:9.1f} l   book {sum_.pumps_l.get(name, 0.0):9.1f} l   "
                     f"off {sum_.pumps_l.get(name, 0.0) / true_l - 1.0:+.2%}")  # fmt: skip
    worst = max(abs(day.used_l / one.used_l - 1.0) for day, one in zip(days, lived, strict=False))
    lines.append(f"the worst single day is off by {worst:.2%} in what was used")
    lines.append("agrees" if ok else "DOES NOT AGREE")
    return lines, ok


def without_raw(journal_file: Path, zone: ZoneInfo) -> list[Day]:
    """The book once retention has taken all that it ever takes."""
    with opened(journal_file) as reader:
        bare = journal_file.with_suffix(".bare.db")
        reader.db.execute("vacuum into ?", [str(bare)])
    from sqlite_utils import Database

    db = Database(bare)
    for table in (*RAW_TABLES, "readings", "minute"):
        db[table].delete_where()
    db.close()
    return book(bare, zone)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.month_book", description="Live a month.")
    parser.add_argument("--days", type=int, default=22)
    parser.add_argument("--hours", type=float, default=6.0)
    parser.add_argument("--seed-from", type=int, default=1)
    parser.add_argument("--keep", type=Path)
    said = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        file = (said.keep or Path(folder)) / "holdwater.db"
        file.parent.mkdir(parents=True, exist_ok=True)
        lived = []
        for day in month(file, said.days, said.hours, said.seed_from):
            lived.append(day)
            print(f"\rday {len(lived)} of {said.days}", end="", file=sys.stderr, flush=True)
        print(file=sys.stderr)
        zone = ZoneInfo("America/Chicago")
        lines, ok = told(lived, book(file, zone))
        print("\n".join(lines))
        bare = told(lived, without_raw(file, zone))[0]
        print("\n".join(["without the raw readings (the last, open quarter of an hour is not in it):", *bare[1:3]]))
    sys.exit(0 if ok else 1)


if __name__ == "__main__":
    main()
