"""The form in which each language says its alarms."""

from typing import NamedTuple


class Variant(NamedTuple):
    """What is said instead when more is known of the cause."""

    cause: str
    do: tuple[str, ...] = ()
    """Empty: do as always."""


class Words(NamedTuple):
    title: str
    """Read at three metres: 28 characters at most."""
    cause: str
    consequence: str
    do: tuple[str, ...]
    """Short steps, in this order."""
    variants: dict[str, Variant] = {}  # noqa: RUF012 - a table, never written to
