"""A journal that is stepped by the tests, and what it holds."""

import itertools

from journal_events import AT, level

from monitor.journal.rebuild import rebuild
from monitor.journal.writer import Journal

WALL = 1795600000.0


def new(path, **more):
    """A journal whose clock goes on five seconds at each look: every step writes."""
    clock = itertools.count(step=5)
    return Journal(path, lambda: next(clock), wall=lambda: WALL, **more)


def put(journal, *numbers):
    """Levels at so many seconds after the start; then one round of work."""
    for number in numbers:
        journal.put(level(AT + number))
    journal.step()
    return journal.status()


def stored(path):
    return [round(event.at - AT) for event in rebuild(path)]
