"""A scenario being played: what the nodes send, and beside it what is true."""

from collections.abc import Iterator
from heapq import heappop, heappush
from itertools import count
from pathlib import Path
from typing import Any, NamedTuple

from simulated_feeds.build_aboard import build_aboard
from simulated_feeds.build_world import build_weather, build_world, chances
from simulated_feeds.choices import choices
from simulated_feeds.done import Done
from simulated_feeds.faults import FAULTS, check_fault, due_of, set_fault
from simulated_feeds.hands import HANDS, ByHand, by_hand
from simulated_feeds.misfortunes import MISFORTUNES, Due
from simulated_feeds.nodes import Sent
from simulated_feeds.scenario import Expect, Scenario, load_scenario
from simulated_feeds.sensor import Instant
from simulated_feeds.surface import Surface, Swing
from simulated_feeds.truth import Truth, Truths
from simulated_feeds.units import BadScenario, amount
from simulated_feeds.world import Segment

Event = dict[str, Any]
DEFAULT_START_AT = 1_795_600_000.0
_BLOCK_S = 1.0


class Happened(NamedTuple):
    """A fault that began or ended, or a hand put in. `at` in Unix seconds; `on` is None for a hand."""

    at: float
    what: str
    on: bool | None
    how: dict[str, Any]


class Handles(NamedTuple):
    """How all that can be worked by hand stands."""

    tap_open: bool
    tap_share: float
    hose_on: bool
    by_hand: dict[str, bool]
    """Of each pump, whether somebody holds its gun in the crew's place."""


class Story:
    """One scenario under one seed, moved on by `advance`. Its times are Unix seconds from `start_at` on.

    What is sent does not depend on how far each `advance` goes. A hand put in (`set_fault`, `hand`) takes effect at
    the next whole second of the story.
    """

    def __init__(self, scenario: Scenario, seed: int | None = None, start_at: float = DEFAULT_START_AT) -> None:
        self.scenario = scenario
        self.seed = scenario.seed if seed is None else seed
        self.start_at = start_at
        self.title = scenario.title
        self.rig_toml = scenario.rig_toml
        self.expect: Expect = scenario.expect
        self.end_at = start_at + scenario.hours * 3600.0
        self.world = build_world(scenario, self.seed)
        self.weather = build_weather(scenario)
        self.aboard = build_aboard(scenario, self.seed, self.world, self.weather, start_at)
        self.faults_on: set[str] = set()
        self.happened: list[Happened] = []
        self._thrown: dict[str, dict[str, Any]] = {}
        self._done = Done()
        self._truths = Truths(self.world, start_at)
        self._surface = Surface(self.world.tank, chances(scenario, self.seed, "surface"))
        self.swings: list[Swing] = []
        self._due = due_of(scenario.tables.get("fault", []))
        for due in self._due:
            check_fault(due, self.world, self.aboard)
        self._to_work: list[ByHand] = by_hand(scenario.tables.get("by_hand", []), self.world)
        self._blocks = 0
        self._waiting: list[tuple[float, int, Event]] = []
        self._order = count()
        self._last_at = start_at
        self._says_so = bool(scenario.tables.get("crew", {}).get("says_so", False))
        self._phase = ""
        self._on_tour = False
        self._plan_acts()

    @property
    def faults(self) -> dict[str, str]:
        """The faults that can be thrown, each with its title for people."""
        return {name: kind.title for name, kind in FAULTS.items()}

    def choices(self) -> dict[str, dict[str, list[str]]]:
        """The faults that can happen on this rig, each with the pumps, nodes or readings it can be thrown at."""
        found = ((name, choices(kind, self.world, self.aboard)) for name, kind in FAULTS.items())
        return {name: chosen for name, chosen in found if chosen is not None}

    def handles(self) -> Handles:
        """How taps and guns stand now."""
        tap = self.world.tap
        by_hand = {pump.name: pump.by_hand for pump in self.world.pumps}
        return Handles(tap.open, tap.kink, tap.connected, by_hand)

    def advance(self, to_at: float) -> list[Event]:
        """All that arrives up to `to_at`, in order; where nothing does for a second, that time passes."""
        out: list[Event] = []
        while self._frontier_at <= to_at:
            self._release(self._frontier_at, out)
            self._play_block()
        self._release(to_at, out)
        self._pass_time(to_at, out)
        return out

    def skip(self, to_at: float) -> None:
        """That time passes with nobody listening: the day goes on, and what the nodes would have sent is not made up.

        What then follows is not what `advance` would have given, whose sensors draw their chances sample by sample.
        """
        while self._frontier_at <= to_at:
            self._play_world()
        for node in self.aboard.nodes:
            node.skip(self._now_s, self._look)
        self._last_at = self._frontier_at
        while self._waiting and self.start_at + self._waiting[0][0] < self._last_at:
            heappop(self._waiting)

    def events(self) -> Iterator[Event]:
        """The whole day, from where it stands."""
        at = self._last_at
        while at < self.end_at:
            at = min(at + 10.0, self.end_at)
            yield from self.advance(at)

    def truth(self, at: float, look_ahead_s: float = 4 * 3600.0) -> Truth:
        """What is so at a time, past or to come; the crew's future is played out as far as need be."""
        return self._truths.at(at, look_ahead_s)

    def truths(self, step_s: float = 1.0, look_ahead_s: float = 4 * 3600.0) -> Iterator[Truth]:
        """What is so at each step of the whole day."""
        steps = int((self.end_at - self.start_at) / step_s)
        return (self.truth(self.start_at + i * step_s, look_ahead_s) for i in range(steps + 1))

    def set_fault(self, name: str, on: bool, **params: Any) -> None:
        """Throws a fault now, or clears it, where nothing else is said as it was thrown.

        The keys it takes are those of a scenario. Raises BadScenario.
        """
        params = params or ({} if on else self._thrown.get(name, {}))
        check_fault(due_of([{"what": name, **params}])[0], self.world, self.aboard)
        self._put_hand_in()
        self._set(Due(self._now_s, name, on, params))
        if on:
            self._done.threw(self._now_s, name, params, FAULTS[name].lasting)
        else:
            self._done.lifted(self._now_s, name)

    def hand(self, what: str, **how: Any) -> None:
        """Does by hand what the crew or the site would do: see `simulated_feeds.hands`. Raises BadScenario."""
        if what not in HANDS:
            raise BadScenario(f'found "{what}", expected one of {", ".join(HANDS)}')
        self._work(ByHand(self._now_s, what, how))
        self._done.worked(self._now_s, what, how)

    def done_toml(self) -> str:
        """All that was put in since it began: rows that, added to the scenario, make it this day again."""
        return self._done.toml()

    def _work(self, each: ByHand) -> None:
        self._put_hand_in()
        HANDS[each.what](self.world, self._now_s, **each.how)
        self.happened.append(Happened(self._frontier_at, each.what, None, each.how))

    @property
    def _now_s(self) -> float:
        return self._blocks * _BLOCK_S

    @property
    def _frontier_at(self) -> float:
        """All that is sent before this time has been played."""
        return self.start_at + self._now_s

    def _plan_acts(self) -> None:
        """What people do at the page, as the scenario has it."""
        for row in self.scenario.tables.get("act", []):
            at_s = amount(row["at"], "[[act]] at", "time")
            heappush(self._waiting, (at_s, next(self._order), {k: v for k, v in row.items() if k != "at"}))

    def _put_hand_in(self) -> None:
        self.world.interrupt(self._now_s)
        self._truths.forget_future()

    def _set(self, due: Due) -> None:
        self.aboard.now_s = due.at_s
        set_fault(due, self.world, self.aboard)
        self._note(due)

    def _note(self, due: Due) -> None:
        self.happened.append(Happened(self.start_at + due.at_s, due.what, due.on, dict(due.params)))
        self._thrown[due.what] = dict(due.params)
        if due.on and FAULTS[due.what].lasting:
            self.faults_on.add(due.what)
        else:
            self.faults_on.discard(due.what)

    def _play_block(self) -> None:
        self._play_world()
        for node in self.aboard.nodes:
            for sent in node.send(self._now_s, self._look):
                heappush(self._waiting, (sent.at_s, next(self._order), _as_event(sent)))

    def _play_world(self) -> None:
        until_s = self._now_s + _BLOCK_S
        while self._due and self._due[0].at_s < until_s:
            self._begin(self._due.pop(0))
        while self._to_work and self._to_work[0].at_s < until_s:
            self._work(self._to_work.pop(0))
        self._blocks += 1
        self.world.run_to(until_s)
        for segment in self.world.segments[len(self.swings):]:
            self.swings.append(self._surface.follow(segment))
            self._say(segment)

    def _say(self, segment: Segment) -> None:
        """A crew that says so touches the page when it packs up, and when it is set up at another place."""
        before, self._phase = self._phase, segment.phase
        if not self._says_so or before == segment.phase:
            return
        self._on_tour = self._on_tour or segment.phase == "tow"
        if segment.phase == "pack":
            self._touch("packing-up", segment.start_s)
        elif before == "setup" and self._on_tour:
            self._on_tour = False
            self._touch("new-place", segment.start_s)

    def _touch(self, act: str, at_s: float) -> None:
        heappush(self._waiting, (at_s, next(self._order), {"act": act, "by": "foreman"}))

    def _begin(self, due: Due) -> None:
        """A fault of the scenario comes due; those of the world come by themselves."""
        if due.what in MISFORTUNES:
            self._note(due)
        else:
            self._set(due)

    def _look(self, at_s: float) -> Instant:
        world = self.world
        index = len(world.segments) - 1
        while index > 0 and world.starts[index] > at_s:
            index -= 1
        return Instant(at_s, world.segments[index], self.swings[index])

    def _release(self, to_at: float, out: list[Event]) -> None:
        while self._waiting and self.start_at + self._waiting[0][0] <= to_at:
            at_s, _, event = heappop(self._waiting)
            self._pass_time(self.start_at + at_s, out)
            self._last_at = max(round(self.start_at + at_s, 6), round(self._last_at + 1e-6, 6))
            out.append({"at": self._last_at, **event})

    def _pass_time(self, to_at: float, out: list[Event]) -> None:
        """The story's time passes with nothing arriving: one word of it a second."""
        while self._last_at + 1.0 <= to_at:
            self._last_at = round(self._last_at + 1.0, 6)
            out.append({"at": self._last_at})


def _as_event(sent: Sent) -> Event:
    if sent.pack is None:
        return {"node": sent.node, "alive": sent.alive}
    return {"node": sent.node, "pack": sent.pack}


def open_scenario(name_or_path: str | Path, seed: int | None = None, start_at: float = DEFAULT_START_AT) -> Story:
    """Begins to play a scenario, by name or from a file. Raises BadScenario when it can't be played."""
    return Story(load_scenario(name_or_path), seed, start_at)
