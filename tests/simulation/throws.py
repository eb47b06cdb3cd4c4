"""What is thrown at the daemon, at short intervals, each with its end."""

import json
from collections.abc import Callable
from math import inf
from typing import TYPE_CHECKING

from simulated_feeds.nodes import Node
from tests.simulation.network import Air

if TYPE_CHECKING:
    from tests.simulation.life import Life

MEAN_GAP_S = 60.0
GARBLE = (b"", b"{", b"[]", b"\xff\xfe\x00", b'[{"n":"level","u":"m","v":1e999}]', b"[[[[", b'{"n":"level"}', b"nan")
ACTS = ("packing-up", "new-place", "acknowledge", "shelve", "it-stands-here", "dumping", "rinsing", "soaping")
YEAR_S = 365 * 86_400.0


class Throws:
    """One after the other, drawn from the seed. `log` tells them to whoever looks into a failure."""

    def __init__(self, life: "Life") -> None:
        self.life, self.rng = life, life.rng
        self.kinds: list[tuple[float, Callable[[], None]]] = [
            (3, self.restart_broker), (2, self.hang_broker), (3, self.worsen_air), (2, self.break_node),
            (3, self.leave_retained), (3, self.garble), (3, self.unplug), (2, self.step_wall), (1.5, self.fill_disk),
            (2, self.fail_write), (3, self.kill), (2, self.kill_writing), (1, self.stop), (1, self.reload),
            (3, self.touch), (2, self.look), (2, self.reboot_node), (1, self.set_clock_wrong),
        ]  # fmt: skip

    def begin(self) -> None:
        self.life.loop.call_later(self.rng.expovariate(1 / MEAN_GAP_S), self._next)

    def _next(self) -> None:
        weights, kinds = zip(*self.kinds, strict=True)
        self.rng.choices(kinds, weights)[0]()
        self.begin()

    def _say(self, what: str) -> None:
        self.life.note(f"{self.life.loop.time():.3f} {what}")

    def _for(self, low_s: float, high_s: float, end: Callable[[], None]) -> None:
        self.life.loop.call_later(self.rng.uniform(low_s, high_s), end)

    # -- the network ----------------------------------------------------------------------------------------------

    def restart_broker(self) -> None:
        if not self.life.broker.up:
            return
        forgets = self.rng.random() < 0.5
        self._say(f"the broker ends{', and forgets' if forgets else ''}")
        self.life.broker.stop(forgets)
        self._for(1, 40, self._broker_back)
        self._looked_at()

    def _broker_back(self) -> None:
        self._say("the broker is back")
        self.life.broker.start()
        for node in self.life.nodes:
            self._for(0.5, 3, lambda node=node: self.life.says_up(node))

    def hang_broker(self) -> None:
        self._say("nothing gets through to the daemon")
        self.life.broker.cut = True
        self._for(2, 40, self._let_through)
        self._looked_at()

    def _let_through(self) -> None:
        self._say("it gets through again")
        self.life.broker.cut = False
        self.life.broker.up_since_s = self.life.loop.time()

    def worsen_air(self) -> None:
        rng = self.rng
        bad = Air(rng.choice((0.0, 0.2, 0.5)), rng.choice((0.0, 0.3)), rng.choice((0.0, 0.3)), rng.uniform(1, 8))
        self._say(f"the air turns bad: {bad}")
        self.life.broker.air = bad
        self._for(20, 90, self._clear_air)

    def _clear_air(self) -> None:
        self._say("the air is good")
        self.life.broker.air = Air()

    def break_node(self) -> None:
        """What hangs on a wire has no connection to lose. Word that it is gone may come when it is back already."""
        if not (by_air := [node for node in self.life.nodes if node not in self.life.wired]):
            return
        node = self.rng.choice(by_air)
        self._say(f"{node} loses its connection")
        self.life.away.add(node)
        self._for(1, 15, lambda: self.life.broker.publish(f"holdwater/{node}/alive", b"gone", True))
        self._for(3, 40, lambda: self._node_back(node))

    def _node_back(self, node: str) -> None:
        self._say(f"{node} is back")
        self.life.away.discard(node)
        self.life.says_up(node)

    def reboot_node(self) -> None:
        """Its power drops for a moment: what it counts begins again from zero."""
        node = self.rng.choice(self.life.story.aboard.nodes)
        self._say(f"{node.name} starts again")
        node.reboot(self.life.story_s + 1.0)

    def set_clock_wrong(self) -> None:
        """It stamps its packs, by a clock that is wrong; on a feed that goes by arrivals that moves nothing."""
        node = self.rng.choice(self.life.story.aboard.nodes)
        error_s = self.rng.choice((-3600.0, -90.0, 2.0, 90.0, YEAR_S))
        self._say(f"{node.name} stamps by a clock that is {error_s:g} s off")
        node.clock.stamps, node.clock.error_s = "absolute", error_s
        self._for(20, 90, lambda: self._clock_unset(node))

    def _clock_unset(self, node: Node) -> None:
        self._say(f"{node.name} stamps no more")
        node.clock.stamps, node.clock.error_s = "none", 0.0

    def leave_retained(self) -> None:
        node = self.rng.choice(self.life.nodes)
        self._say(f"{node} sends a pack retained")
        self.life.retains.add(node)

    def garble(self) -> None:
        node, junk = self.rng.choice(self.life.nodes), self.rng.choice(GARBLE)
        self._say(f"garble from {node}: {junk!r}")
        for _ in range(self.rng.choice((1, 1, 40))):
            self.life.broker.publish(f"holdwater/{node}/readings", junk, False)
        self.life.cable.write(junk + b"\n" * (self.rng.random() < 0.7))

    def unplug(self) -> None:
        if not self.life.cable.plugged:
            return
        self._say("the serial line is pulled out")
        self.life.cable.pull_out()
        self._for(2, 40, self._plug_in)

    def _plug_in(self) -> None:
        self._say("the serial line is plugged in")
        self.life.cable.plug_in(self.life.loop.time())

    # -- the machine ----------------------------------------------------------------------------------------------

    def step_wall(self) -> None:
        """A year off it is put right again: a clock wrong on two days in two ways makes the journal old by design."""
        by_s = self.rng.choice((3.0, 60.0, 3600.0, YEAR_S)) * self.rng.choice((-1, 1))
        if abs(self.life.clocks.wall_off_s) > YEAR_S / 2:
            by_s = -self.life.clocks.wall_off_s
        self._say(f"the wall clock is stepped by {by_s:g} s")
        self.life.clocks.wall_off_s += by_s

    def fill_disk(self) -> None:
        self._say("the disk is full")
        self.life.disk.full, self.life.disk.ill_until_s = True, inf
        self._for(5, 120, self._empty_disk)

    def _empty_disk(self) -> None:
        self._say("the disk has room")
        self.life.disk.full, self.life.disk.ill_until_s = False, self.life.loop.time() + 15.0

    def fail_write(self) -> None:
        self.life.disk.fails_in = self.rng.randrange(60)
        self._say(f"the write after the next {self.life.disk.fails_in} fails")

    def kill(self) -> None:
        self._say("the daemon is killed")
        self.life.ends(self.life.process.kill)

    def kill_writing(self) -> None:
        self.life.disk.kills_in = self.rng.randrange(60)
        self._say(f"the daemon is killed at the write after the next {self.life.disk.kills_in}")

    def warned(self, alarm: str) -> None:
        """The worst moment for a kill is soon after a warning, and after somebody has answered it."""
        if self.rng.random() < 0.5:
            if self.rng.random() < 0.6:
                self._for(0.5, 1.5, lambda: self._answer(alarm))
            self._for(5, 9, self.kill)

    def _answer(self, alarm: str) -> None:
        self._say(f"somebody acknowledges {alarm}")
        self.life.asks("POST", "/api/act", {"act": "acknowledge", "alarm": alarm, "by": "gun hand"})

    def stop(self) -> None:
        self._say("the daemon is stopped")
        self.life.ends(self.life.process.stop)

    def reload(self) -> None:
        if self.life.process.daemon is not None:
            self._say("the rig file is taken over")
            self.life.process.daemon.reload()
            self.life.checks.hearing.taken_over_s = self.life.loop.time()

    # -- people ---------------------------------------------------------------------------------------------------

    def touch(self) -> None:
        act, rng = self.rng.choice(ACTS), self.rng
        said = {"act": act, "by": "gun hand"}
        if act in ("acknowledge", "shelve"):
            said["alarm"] = rng.choice(("dry-soon", "water-low", "level-signal", "leak", "node-lost"))
        if act in ("rinsing", "soaping"):
            said["pump"] = rng.choice(self.life.pumps)
        if act == "it-stands-here":
            said["volume_l"] = round(self.life.truth().volume_l, 1)
        self._say(f"somebody touches {json.dumps(said)}")
        self.life.asks("POST", "/api/act", said)

    def _looked_at(self) -> None:
        """Somebody may look just when nothing comes any more."""
        if self.rng.random() < 0.3:
            self.look()

    def look(self) -> None:
        self._say("a page is opened")
        self.life.follows(self.rng.uniform(3, 20))
