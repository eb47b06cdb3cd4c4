"""Behind the scenes of a simulated day: what is true in it, and hands put into its world. Never for the core.

The story belongs to the feed's thread. Between two of its steps the truth is written down there and orders are carried
out; anybody else leaves an order and reads what was written down.
"""

import threading
from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import Future
from math import inf
from queue import SimpleQueue
from typing import Any, NamedTuple, Protocol

from monitor.feeds.clock import Clock

STEP_S = 10.0
"""The truth is written down on every whole ten seconds, as forecasts are made, so that the two can be compared."""
KEPT = 1080
AHEAD_S = 3600.0


class Scene(Protocol):
    """What a story shows and takes behind the scenes. `simulated_feeds.Story` is one."""

    title: str
    seed: int
    start_at: float
    end_at: float
    faults_on: set[str]
    happened: list[Any]

    def truth(self, at: float, look_ahead_s: float) -> Any: ...
    def choices(self) -> dict[str, dict[str, list[str]]]: ...
    def handles(self) -> Any: ...
    def done_toml(self) -> str: ...
    def set_fault(self, name: str, on: bool, **params: Any) -> None: ...
    def hand(self, what: str, **how: Any) -> None: ...


class Day(NamedTuple):
    """What stays the same all day. Times in Unix seconds of the daemon's time line."""

    scenario: str
    title: str
    seed: int
    began_at: float
    ends_at: float
    pumps: list[str]
    faults: dict[str, dict[str, list[str]]]


class TrueNow(NamedTuple):
    """What is so where the story stands: the truth, how taps and guns stand, which faults are on."""

    truth: dict[str, Any]
    handles: dict[str, Any]
    faults_on: list[str]
    done: str
    """What was put in so far, as rows of a scenario."""


class Point(NamedTuple):
    """What was so on a whole ten seconds. `dry_s` is the time to the heel as it would go on, None over an hour."""

    at: float
    volume_l: float
    inflow_l_min: float
    lost_l_min: float
    dry_s: float | None
    draw_l_min: dict[str, float]


Order = Callable[[Scene, float], None]
"""Done to the scene at the time up to which it has been told."""


class Backstage:
    """One story's. `follow` belongs to the feed's thread, all else to anybody."""

    def __init__(self, clock: Clock, scenario: str) -> None:
        self.clock = clock
        self._scenario = scenario
        self._orders: SimpleQueue[tuple[Order, Future[None]]] = SimpleQueue()
        self._lock = threading.Lock()
        self._points: deque[Point] = deque(maxlen=KEPT)
        self._happened: deque[Any] = deque(maxlen=KEPT)
        self._told = 0
        self._next_at = 0.0
        self._day: Day | None = None
        self._now: TrueNow | None = None

    def __repr__(self) -> str:
        return f"<Backstage of {self._scenario}, {len(self._points)} points>"

    # -- for anybody ------------------------------------------------------------------------------------------

    @property
    def day(self) -> Day | None:
        """None until the story has begun."""
        return self._day

    @property
    def now(self) -> TrueNow | None:
        return self._now

    def points(self, since: float) -> list[Point]:
        """What was written down after a time."""
        with self._lock:
            return [point for point in self._points if point.at > since]

    def happened(self, since: float) -> list[dict[str, Any]]:
        """Faults that began and ended, and hands put in, after a time."""
        with self._lock:
            return [each._asdict() for each in self._happened if each.at > since]

    def fault(self, name: str, on: bool, params: dict[str, Any]) -> Future[None]:
        """Throws a fault or lifts it. The future raises ValueError where there is no such fault."""
        return self._leave(lambda scene, at: scene.set_fault(name, on, **params))

    def hand(self, what: str, how: dict[str, Any]) -> Future[None]:
        """Does something by hand. The future raises ValueError where there is no such thing."""
        return self._leave(lambda scene, at: scene.hand(what, **how))

    def turn(self, speed: float) -> Future[None]:
        """The day goes on at another speed, from where it has been told: so the time line neither stands nor falls."""
        return self._leave(lambda scene, at: self.clock.turn(speed, at))

    def _leave(self, order: Order) -> Future[None]:
        done: Future[None] = Future()
        self._orders.put((order, done))
        return done

    # -- for the feed's thread --------------------------------------------------------------------------------

    def follow(self, scene: Scene, to_at: float) -> None:
        """The story has been told up to a time: write down what is true, then do what was asked for."""
        self.clock.told(to_at)
        self._write_down(scene, to_at)
        while not self._orders.empty():
            order, done = self._orders.get()
            _carry_out(order, scene, to_at, done)
        self._look(scene, to_at)

    def close(self) -> None:
        """The story is over, and nobody has to wait for it any more."""
        self.clock.told(inf)

    def _write_down(self, scene: Scene, to_at: float) -> None:
        if self._day is None:
            pumps = list(scene.handles().by_hand)
            times = (scene.start_at, scene.end_at)
            self._day = Day(self._scenario, scene.title, scene.seed, *times, pumps, scene.choices())
            self._next_at = -(-scene.start_at // STEP_S) * STEP_S
        while self._next_at <= to_at:
            point = _point(scene.truth(self._next_at, AHEAD_S))
            with self._lock:
                self._points.append(point)
            self._next_at += STEP_S

    def _look(self, scene: Scene, to_at: float) -> None:
        truth = {key: said for key, said in scene.truth(to_at, 0.0)._asdict().items() if key != "dry_at"}
        self._now = TrueNow(truth, scene.handles()._asdict(), sorted(scene.faults_on), scene.done_toml())
        self._note(scene.happened[self._told :])

    def _note(self, happened: Iterable[Any]) -> None:
        with self._lock:
            for each in happened:
                self._happened.append(each)
                self._told += 1


def _carry_out(order: Order, scene: Scene, at: float, done: Future[None]) -> None:
    try:
        order(scene, at)
    except (ValueError, LookupError, TypeError) as fault:
        done.set_exception(ValueError(str(fault)))
    else:
        done.set_result(None)


def _point(truth: Any) -> Point:
    dry_s = truth.dry_at - truth.at
    return Point(
        truth.at,
        round(truth.volume_l, 2),
        round(truth.inflow_l_min, 2),
        round(truth.lost_l_min, 2),
        round(dry_s, 1) if dry_s <= AHEAD_S else None,
        {pump: round(draw, 2) for pump, draw in truth.draw_l_min.items()},
    )
