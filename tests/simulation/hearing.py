"""Whom the daemon ought to hear, and whom it has heard: every node, and the level."""

from typing import TYPE_CHECKING

from monitor.daemon import Daemon
from monitor.readings import Event, Pack

if TYPE_CHECKING:
    from tests.simulation.life import Life

AGAIN_S = 25.0
"""A node that is whole for so long is heard: ten seconds after the longest silence the daemon may notice late."""
CLEARS_S = 11.0
"""So long an alarm waits before it clears, and it waits anew where the rig file is taken over meanwhile."""
SILENCES = frozenset({"node-lost", "backlog", "node-reboots", "lossy-air"})
LEVEL = "tank/level"
STANDING = ("unacknowledged", "acknowledged")


class Hearing:
    """Times of the daemon's own line, but for `_whole_since_s`."""

    def __init__(self, life: "Life") -> None:
        self.life = life
        self.level_at: float | None = None
        self.taken_over_s = 0.0
        self._heard_at: dict[str, float] = {}
        self._whole_since_s = dict.fromkeys([*life.nodes, LEVEL], 0.0)

    def starts(self) -> None:
        self.level_at = None
        self._heard_at.clear()

    def take(self, event: Event) -> None:
        """What has come to the daemon; what a broker had kept tells nothing of now."""
        if not isinstance(event, Pack) or event.retained:
            return
        self._heard_at[event.node] = event.at
        for record in event.records:
            if record.name == LEVEL:
                at = event.at + min(record.stamp, 0.0) if record.stamp < 2**28 else event.at
                self.level_at = max(self.level_at or 0.0, at)

    def look(self) -> None:
        """Since when each node has a whole way to the daemon, and the daemon lives."""
        life, now_s = self.life, self.life.loop.time()
        lives = life.process.daemon is not None and not life.story.faults_on & SILENCES
        for node in life.nodes:
            if not (lives and self._has_way(node)):
                self._whole_since_s[node] = now_s
        lost = "level-lost" in life.story.faults_on
        self._whole_since_s[LEVEL] = now_s if lost else max(self._whole_since_s["tank"], self._whole_since_s[LEVEL])

    def _has_way(self, node: str) -> bool:
        life, broker = self.life, self.life.broker
        if life.story.aboard.node({"node": node}).starts(life.story_s):
            return False
        if node in life.wired:
            return life.cable.plugged
        clear = broker.air.loses == 0.0 and broker.air.late == 0.0
        return clear and broker.up and not broker.cut and node not in life.away

    def is_whole(self, node: str) -> bool:
        since_s = max(self._whole_since_s[node], self.life.process.started_s)
        return self.life.loop.time() - since_s >= AGAIN_S

    def wrong(self, daemon: Daemon) -> str | None:
        """A node that is sent for and not heard, or heard and called lost; so with the level."""
        now = daemon.clock.now()
        whole = [node for node in self.life.nodes if self.is_whole(node)]
        for node in whole:
            if now - self._heard_at.get(node, 0.0) > AGAIN_S - 10.0:
                return f"{node} sends and is not heard"
        one = len(daemon.core.intake.levels) == 1
        if one and self.is_whole(LEVEL) and now - (self.level_at or 0.0) > AGAIN_S - 10.0:
            return "the level is sent and not heard"
        board = daemon.core.board
        settled = self.life.loop.time() - self.taken_over_s > CLEARS_S
        for alarm in board.standing() if settled and board.state_of("node-lost") in STANDING else ():
            lost = alarm["alarm"] == "node-lost" and alarm["state"] in STANDING and alarm["variant"] != "reboots"
            if lost and alarm["node"] in whole:
                return f"{alarm['node']} is heard and called lost"
        return None
