"""A journal written by another process, which says after each commit how many events are surely stored.

    python acknowledging_writer.py JOURNAL COMMITS [full|off] [CHECKPOINT_PAGES]

Each acknowledgement is one line ``ACK n`` on standard output. It ends without closing anything.
"""

import itertools
import os
import sys
from pathlib import Path

from journal_events import AT, alarm, forecast, level

from monitor.journal import schema
from monitor.journal.writer import Journal
from monitor.readings import Pack, Passing, Record

PER_COMMIT = 40


def events():
    """The same events every time, twelve hundred a simulated hour."""
    for number in itertools.count():
        at = AT + number * 3
        if number % 40 == 17:
            yield Passing(at)
        elif number % 3 == 1:
            yield Pack(at, "mqtt 1", "inlet", (Record("inlet/total", "l", number * 0.7),))
        else:
            yield level(at, 0.6 - number * 7919 % 997 / 7e4)


def write(path, commits, acknowledge, synchronous="full", pages=30):
    """`commits` transactions of PER_COMMIT events and what goes with them; acknowledge(n) after each."""
    schema.PRAGMAS = ("journal_mode = wal", f"synchronous = {synchronous}", f"wal_autocheckpoint = {pages}")
    clock = itertools.count(step=5)
    journal = Journal(path, lambda: next(clock))
    source = events()
    for commit in range(commits):
        for event in itertools.islice(source, PER_COMMIT):
            journal.put(event)
        journal.put(forecast(AT + commit * 120))
        if commit % 7 == 3:
            journal.put(alarm(AT + commit * 120))
        journal.step()
        status = journal.status()
        assert status == (True, "", "", 0, 0)
        acknowledge((commit + 1) * PER_COMMIT)


def say(stored):
    os.write(1, f"ACK {stored}\n".encode())


if __name__ == "__main__":
    say(0)
    write(Path(sys.argv[1]), int(sys.argv[2]), say, *sys.argv[3:])
    os._exit(0)
