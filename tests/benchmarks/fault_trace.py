"""One case of the fault campaign, told moment by moment: what was so, what was believed, and what was said.

    python -m tests.benchmarks.fault_trace 21 [--after 1500 --until 4000] [--every 300]

A line for each alarm that comes or goes, and, between `--after` and `--until` (s of the story), for each change of what
is thought of the signals, and one each `--every` s besides. Flows in l/min, volumes in l, `true` before `believed`.
"""

import argparse
import math
from collections.abc import Iterator
from typing import Any

from monitor.balance.accounts import Estimate
from monitor.core import Core
from simulated_feeds.story import Story
from simulated_feeds.world import Segment
from tests.benchmarks.fault_case import DIAGNOSES, Case, case, lived, story_of, variant


def traced(asked: Case, after_s: float, until_s: float, every_s: float) -> Iterator[str]:
    """The lines of one case."""
    story, faults = story_of(asked)
    yield f"case {asked.number}: {asked.what}, {asked.sensors}"
    rows = story.scenario.tables["fault"]
    for fault, row in zip(faults, rows[len(rows) - len(faults) :], strict=True):
        yield f"{fault.begins_s:8.0f} {fault.name} begins, to {fault.ends_s:.0f}: {row}"
    before: Any = None
    next_s = after_s
    for core, changes in lived(story):
        for change in changes:
            if change.state == "unacknowledged" or change.alarm in DIAGNOSES:
                yield f"{change.at - story.start_at:8.0f} {change.alarm} {change.state} {variant(core, change.alarm)}"
        at_s = (core.now or -math.inf) - story.start_at
        if not after_s <= at_s <= until_s:
            continue
        thought = _thought(core)
        if thought != before or at_s >= next_s:
            yield f"{at_s:8.0f} {_so(story, core, at_s)}; {_told(thought)}; {_accounts(core)}"
            before, next_s = thought, at_s + every_s


def _thought(core: Core) -> dict[str, Any]:
    """What is thought of the signals; what is empty is left out."""
    verdicts = core.verdicts
    step, sides = verdicts.steps.step, {"level": verdicts.level.reason, "supply": verdicts.supply.reason}
    thought = {
        **sides,
        "odd": f"{verdicts.odd.what}{' at once' * verdicts.odd.burst}",
        "step": "" if step is None else f"{'stop' if step.stop else 'part'} {verdicts.stepped or 'unclear'}",
        "stands": verdicts.stands_still or any(each.stands for each in verdicts.standstills),
        "may stand": verdicts.may_stand,
    }
    return {name: what for name, what in thought.items() if what}


def _told(thought: dict[str, Any]) -> str:
    return ", ".join(name if what is True else f"{name} {what}" for name, what in thought.items()) or "nothing odd"


def _so(story: Story, core: Core, at_s: float) -> str:
    now: Segment = story.world.at(max(0.0, at_s))
    belief = core.balance.belief
    believed = "none" if belief is None else f"{belief.volume_l:.0f}±{belief.volume_sd_l:.0f}"
    draws = "none" if belief is None else f"{belief.draw_sum_l_min:.1f}"
    counted = core.intake.meter.inflow.l_min if core.intake.meter is not None else math.nan
    return (
        f"{now.phase} volume {now.volume_at(at_s):.0f} {believed}, tap {now.inflow_l_min:.1f} {counted:.1f}, "
        f"draw {sum(now.draw_l_min):.1f} {draws}, lost {now.lost_l_min:.1f}"
    )


def _accounts(core: Core) -> str:
    step = core.verdicts.steps.step
    likelier = "" if step is None else f" meter likelier by e^{step.likelier:.1f}"
    short, long = core.diagnosis.accounts.estimates()
    return f"short {_estimate(short)} long {_estimate(long)} {_lines(core)}{likelier}"


def _estimate(seen: Estimate | None) -> str:
    if seen is None:
        return "none"
    free = f"{seen.free_l_min:.1f}±{seen.free_sd_l_min:.1f} and {seen.gain:.2f}±{seen.gain_sd:.2f}"
    return f"{seen.l_min:.1f}±{seen.sd_l_min:.1f} ({free} of {seen.flow_l_min:.1f})"


def _lines(core: Core) -> str:
    lines = [line for window_s in (180.0, 300.0, 600.0, 1200.0) if (line := core.redundancy.line(window_s))]
    return " ".join(
        f"[{line.lasts_s:.0f} s: {line.slope_l_min:.1f}±{line.sd_l_min:.1f} of {line.metered_l_min:.1f} "
        f"straight {line.straight:.1f} rough {line.rough:.1f}{' rests' * line.rests}]"
        for line in lines
    )


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.fault_trace", description="One case, told.")
    parser.add_argument("number", type=int)
    parser.add_argument("--after", type=float, default=0.0, metavar="S")
    parser.add_argument("--until", type=float, default=math.inf, metavar="S")
    parser.add_argument("--every", type=float, default=600.0, metavar="S")
    said = parser.parse_args()
    for line in traced(case(said.number), said.after, said.until, said.every):
        print(line)


if __name__ == "__main__":
    main()
