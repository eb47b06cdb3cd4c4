"""Every scenario against its promise: what must be raised, and what must not.

    python -m tests.benchmarks.scenario_promises [NAME …]

Prints a line a scenario; exits 1 where one promise is broken. Some are broken as yet: they are the list to work off.
"""

import sys
from multiprocessing import Pool
from pathlib import Path

from monitor.changes import AlarmChange
from monitor.core import Core
from monitor.feeds.simulated import read
from monitor.rig.load import parse
from simulated_feeds import open_scenario, scenario_names


def raised(name: str) -> tuple[str, list[str], list[str]]:
    """The promised alarms that did not come in their time, and the alarms that came and must not."""
    story = open_scenario(name)
    core = Core(parse(story.rig_toml, Path("rig.toml")))
    came = [
        ((change.at - story.start_at), change.alarm)
        for said in story.events()
        for change in core.take(read(said, core.rig.named_feeds[0][0]))
        if isinstance(change, AlarmChange) and change.state == "unacknowledged"
    ]
    missing = [
        f"{must.alarm} (from {must.after_s / 60:.0f} to {must.before_s / 60:.0f} min)"
        for must in story.expect.must
        if not any(alarm == must.alarm and must.after_s <= at_s <= must.before_s for at_s, alarm in came)
    ]
    false = [f"{alarm} at {at_s / 60:.1f} min" for at_s, alarm in came if alarm in story.expect.must_not]
    return name, missing, false


def main() -> int:
    names = sys.argv[1:] or scenario_names()
    broken = 0
    with Pool(2) as pool:
        for name, missing, false in pool.imap(raised, names):
            broken += bool(missing or false)
            parts = [f"missing {', '.join(missing)}"] * bool(missing) + [f"false {', '.join(false)}"] * bool(false)
            print(f"{name:22} {'; '.join(parts) or 'kept'}", flush=True)
    print(f"{len(names) - broken} of {len(names)} promises kept")
    return int(bool(broken))


if __name__ == "__main__":
    sys.exit(main())
