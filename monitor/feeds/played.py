"""A story played into the inbox as the clock reaches its events: a recording, or the simulated world."""

import contextlib
from collections.abc import Callable, Iterable
from typing import Protocol

from monitor.feeds.clock import Clock
from monitor.feeds.feed import FeedStatus, Trouble
from monitor.feeds.inbox import Inbox
from monitor.feeds.intake import Intake
from monitor.readings import Event, Passing
from monitor.worker import Hire, Steps, Thread

STEP_S = 0.05
LEAD_S = 2 * STEP_S
"""Real seconds by which a story is told ahead, so that its events reach the daemon before their time has passed and
keep the times they have in the story: at twenty times the speed of life each step is a whole second of it."""


class Story(Protocol):
    def advance(self, to_at: float) -> Iterable[Event]:
        """The events not yet given, up to that time on the daemon's time line, in order."""

    def ended(self) -> Trouble | None:
        """None while more is to come, else what to say when all has been told."""

    def close(self) -> None:
        """Let go of what it was read from."""


class PlayedFeed:
    """Follows the daemon's clock: how fast the story runs is the clock's speed."""

    def __init__(self, name: str, clock: Clock, begin: Callable[[float], Story], hire: Hire = Thread) -> None:
        """`begin` is called with the time at which the story starts. It may raise OSError or ValueError."""
        self.name = name
        self._clock = clock
        self._begin = begin
        self._intake = Intake(name)
        self._worker = hire(name, self._plays)

    def start(self, inbox: Inbox) -> None:
        self._intake.open(inbox)
        self._worker.start()

    def status(self) -> FeedStatus:
        return self._intake.status()

    def close(self) -> None:
        self._intake.close()
        self._worker.close()

    def _plays(self) -> Steps:
        try:
            with contextlib.closing(self._begin(self._clock.now())) as story:
                yield from self._play(story)
        except (OSError, ValueError, LookupError) as fault:
            self._intake.trouble = Trouble(f"It can't be played: {fault}.", "Correct the feed's table in the rig file.")
        except Exception as fault:
            why = f"A fault of this program: {type(fault).__name__}: {fault}."
            self._intake.trouble = Trouble(why, "Start it again.")

    def _play(self, story: Story) -> Steps:
        while True:
            for event in story.advance(self._clock.now() + LEAD_S * self._clock.speed):
                if not isinstance(event, Passing):  # the daemon's own clock sees to that
                    self._intake.event(event)
            if said := story.ended():
                self._intake.trouble = said
                return
            yield STEP_S
