"""What every feed is: a source of readings or named rejects that can be started, asked how it is, and closed."""

from typing import NamedTuple, Protocol

from monitor.feeds.inbox import Inbox


class FeedStatus(NamedTuple):
    """How a feed is. When it is not ok, `why` and `do` are sentences for people: what is wrong, what to do."""

    name: str
    ok: bool
    why: str
    do: str
    packs: int
    rejects: int


class Feed(Protocol):
    """Kinds: mqtt, serial, simulated, recorded. A feed never raises for what the world does to it."""

    name: str
    """Its kind and its number among its kind: "mqtt 1"."""

    def start(self, inbox: Inbox) -> None:
        """Begin, at once; what arrives goes into the inbox. A feed is started once."""

    def status(self) -> FeedStatus:
        """How it is now; from any thread, at any time."""

    def close(self) -> None:
        """End; nothing goes into the inbox after this returns. Closing twice does no harm."""


class Trouble(NamedTuple):
    """Why a feed is not ok, and what to do about it."""

    why: str
    do: str


ITSELF = "It is tried again by itself every few seconds."
NOT_STARTED = Trouble("It has not been started.", "Start the daemon: holdwater run.")
CLOSED = Trouble("It has been closed.", "Start the daemon again: holdwater run.")
