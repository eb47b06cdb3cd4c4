"""Every scenario against its promise: what must be raised, and what must not.

    python -m tests.benchmarks.scenario_promises [NAME …]

Prints a line a scenario; exits 1 where one promise is broken. Some are broken as yet: they are the list to work off.
"""

import argparse
import sys
from multiprocessing import Pool
from pathlib import Path

from monitor.changes import AlarmChange
from monitor.core import Core
from monitor.feeds.simulated import read
from monitor.rig.load import parse
from simulated_feeds import BadScenario, open_scenario, scenario_names


def raised(name: str) -> tuple[str, list[str], list[str], list[str]]:
    """The promised alarms that did not come in their time, those that came and must not, and when the promised came."""
    story = open_scenario(name)
    core = Core(parse(story.rig_toml, Path("rig.toml")))
    came = [
        ((change.at - story.start_at), change.alarm)
        for said in story.events()
        for change in core.take(read(said, core.rig.named_feeds[0][0]))
        if isinstance(change, AlarmChange) and change.state == "unacknowledged"
    ]
    in_time = [
        next((at_s for at_s, alarm in came if alarm == must.alarm and must.after_s <= at_s <= must.before_s), None)
        for must in story.expect.must
    ]
    both = list(zip(story.expect.must, in_time, strict=True))
    missing = [
        f"{must.alarm} (from {must.after_s / 60:.0f} to {must.before_s / 60:.0f} min)"
        for must, at_s in both
        if at_s is None
    ]
    promised = [f"{must.alarm} at {at_s / 60:.1f} min" for must, at_s in both if at_s is not None]
    false = [f"{alarm} at {at_s / 60:.1f} min" for at_s, alarm in came if alarm in story.expect.must_not]
    return name, missing, false, promised


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.scenario_promises", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="SCENARIO", help="names or files; all that come with the program")
    names = parser.parse_args().names or scenario_names()
    try:
        for name in names:
            open_scenario(name)
    except BadScenario as fault:
        parser.error(str(fault))
    broken = 0
    with Pool(2) as pool:
        for name, missing, false, promised in pool.imap(raised, names):
            broken += bool(missing or false)
            parts = [f"missing {', '.join(missing)}"] * bool(missing) + [f"false {', '.join(false)}"] * bool(false)
            kept = f"kept: {', '.join(promised)}" if promised else "kept"
            print(f"{name:22} {'; '.join(parts) or kept}", flush=True)
    print(f"{len(names) - broken} of {len(names)} promises kept")
    return int(bool(broken))


if __name__ == "__main__":
    sys.exit(main())
