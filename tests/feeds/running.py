"""A feed that runs, as the tests of the real feeds see it."""

from waiting import until

from monitor.feeds.clock import LiveClock
from monitor.feeds.feed import Feed
from monitor.feeds.inbox import Inbox


class Running:
    """A feed with its inbox, and all that has come out of it so far."""

    def __init__(self, feed: Feed) -> None:
        self.inbox = Inbox(LiveClock())
        self.seen: list = []
        self.feed = feed
        self.feed.start(self.inbox)

    def arrived(self, kind: type) -> list:
        self.seen += self.inbox.drain()
        return [event for event in self.seen if isinstance(event, kind)]

    def wait_for(self, kind: type, count: int = 1, within_s: float = 10.0) -> list:
        return until(lambda: len(found := self.arrived(kind)) >= count and found, within_s, f"{count} {kind.__name__}")

    def ready(self) -> "Running":
        until(lambda: self.feed.status().ok, what="connected")
        return self

    def why(self, words: str) -> str:
        """Waits until the feed says so; what to do about it."""
        return until(lambda: words in (status := self.feed.status()).why and status.do, what=words)
