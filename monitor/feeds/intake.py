"""One feed's way into the inbox: what came is decoded, counted, and kept out once the feed is closed."""

import threading
from collections.abc import Callable, Iterable

from monitor.feeds.feed import CLOSED, NOT_STARTED, FeedStatus, Trouble
from monitor.feeds.inbox import Inbox
from monitor.readings import Alive, Event, Pack, Record, Reject
from monitor.wire import mapped, senml
from monitor.wire.mapped import Mapping
from monitor.wire.nodes import OURS, by_node, check_node, own_and_foreign
from monitor.wire.rejected import Rejected, shown


class Intake:
    """Thread-safe. Whatever bytes are given, nothing is raised: they become events or rejects."""

    def __init__(self, feed: str) -> None:
        self.feed = feed
        self._trouble: Trouble | None = NOT_STARTED
        self._inbox: Inbox | None = None
        self._lock = threading.Lock()
        self._packs = 0
        self._rejects = 0

    def open(self, inbox: Inbox, trouble: Trouble | None = None) -> None:
        """From now on what comes goes into the inbox; `trouble` stands until the feed has what it needs."""
        self.trouble = trouble
        self._inbox = inbox

    def close(self) -> None:
        """Nothing goes into the inbox after this."""
        with self._lock:
            self._inbox = None
        self.trouble = CLOSED

    @property
    def trouble(self) -> Trouble | None:
        """What is wrong with the feed now. Once it is closed, that is the last word."""
        return self._trouble

    @trouble.setter
    def trouble(self, trouble: Trouble | None) -> None:
        if self._trouble is not CLOSED:
            self._trouble = trouble

    def status(self) -> FeedStatus:
        trouble = self._trouble
        why, do = trouble or Trouble("", "")
        return FeedStatus(self.feed, trouble is None, why, do, self._packs, self._rejects)

    def line(self, text: bytes) -> None:
        """A pack with no word about who sent it: each reading's name says its node."""
        try:
            self._take_line(text)
        except Exception as fault:
            self._refuse(fault, text)

    def message(self, node: str, payload: bytes, retained: bool) -> None:
        """A pack from a node that the transport names; readings in another node's name are rejected."""
        try:
            self._take_message(node, payload, retained)
        except Exception as fault:
            self._refuse(fault, payload)

    def alive(self, node: str, payload: bytes, retained: bool) -> None:
        """A node's `up`, or its will `gone`; an empty payload only clears what was retained."""
        try:
            if payload:
                self._take_alive(node, payload, retained)
        except Exception as fault:
            self._refuse(fault, payload)

    def mapped(self, payload: bytes, mappings: Iterable[Mapping], retained: bool) -> None:
        """A message of somebody else's node, out of which the rig file maps readings."""
        try:
            self._take_mapped(payload, mappings, retained)
        except Exception as fault:
            self._refuse(fault, payload)

    def records(self, records: Iterable[Record]) -> None:
        """Readings that were asked for, each of the node in its name."""
        for node, own in by_node(tuple(records), otherwise=self.feed).items():
            self._pack(node, own, False)

    def event(self, event: Event) -> None:
        """An event with its time, from a story that is played; it is this feed's now."""
        if isinstance(event, Reject):
            self.reject(event.kind, event.why, event.raw, event.at)
            return
        self._packs += isinstance(event, Pack)
        named = event._replace(feed=self.feed) if isinstance(event, Pack | Alive) else event
        self._pass(lambda inbox: inbox.put(named))

    def let_go(self) -> None:
        """Too much came: this is not looked at, only counted."""
        self._pass(Inbox.let_go)

    def reject(self, kind: str, why: str, raw: bytes | str = b"", at: float | None = None) -> None:
        self._rejects += 1
        self._pass(lambda inbox: inbox.reject(self.feed, kind, why, shown(raw), at))

    def _take_line(self, text: bytes) -> None:
        decoded = senml.decode(text)
        for node, records in by_node(decoded.records, otherwise=self.feed).items():
            check_node(node)
            self._pack(node, records, False)
        self._report("text-value", decoded.left_out, text)

    def _take_message(self, node: str, payload: bytes, retained: bool) -> None:
        check_node(node)
        decoded = senml.decode(payload)
        own, foreign = own_and_foreign(decoded.records, node)
        if own or not (foreign or decoded.left_out):
            self._pack(node, own, retained)
        self._report("foreign-name", foreign, payload, node)
        self._report("text-value", decoded.left_out, payload)

    def _take_mapped(self, payload: bytes, mappings: Iterable[Mapping], retained: bool) -> None:
        records, rejects = mapped.decode(payload, mappings)
        for node, own in by_node(tuple(records), otherwise=self.feed).items():
            self._pack(node, own, retained)
        for refused in rejects:
            self.reject(refused.kind, refused.why, payload)

    def _take_alive(self, node: str, payload: bytes, retained: bool) -> None:
        if node == OURS:  # the daemon's own word, heard back from the broker
            return
        check_node(node)
        if payload not in (b"up", b"gone"):
            raise Rejected("alive", f'A node says "up" or "gone", not "{shown(payload)}".')
        self._pass(lambda inbox: inbox.alive(self.feed, node, payload == b"up", retained))

    def _pack(self, node: str, records: tuple[Record, ...], retained: bool) -> None:
        self._packs += 1
        with self._lock:
            if self._inbox is not None:
                self._inbox.pack(self.feed, node, records, retained)

    def _report(self, kind: str, names: tuple[str, ...], raw: bytes, node: str = "") -> None:
        if names:
            said = {
                "foreign-name": f"The node {shown(node)} sent readings that are not its own",
                "text-value": "A reading is a number or a truth value, and text came",
            }[kind]
            self.reject(kind, f"{said}: {', '.join(names)}.", raw)

    def _refuse(self, fault: Exception, raw: bytes) -> None:
        """An escape would end the thread that brought this, and with it the feed."""
        if isinstance(fault, Rejected):
            self.reject(fault.kind, fault.why, raw)
        else:
            self.reject("fault", f"A fault of this program: {type(fault).__name__}: {fault}", raw)

    def _pass(self, put: Callable[[Inbox], None]) -> None:
        with self._lock:
            if self._inbox is not None:
                put(self._inbox)
