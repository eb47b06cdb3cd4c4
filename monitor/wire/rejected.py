"""The one way in which the wire says no: a reject with a name that counts, and a sentence for people."""

SHOWN_CHARACTERS = 160


class Rejected(Exception):
    """What came can't be used. `kind` is the reject's name, the same every time; `why` is for people."""

    def __init__(self, kind: str, why: str) -> None:
        super().__init__(f"{kind}: {why}")
        self.kind = kind
        self.why = why


def shown(raw: bytes | str) -> str:
    """The first characters of what came, safe on any screen: what can't be printed is written as an escape."""
    head = raw[:SHOWN_CHARACTERS]
    text = head.decode("utf-8", "backslashreplace") if isinstance(head, bytes) else head
    escaped = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
    return escaped if len(raw) <= SHOWN_CHARACTERS else escaped + "…"
