"""Which node a reading belongs to: the first part of its name, up to the slash."""

from functools import lru_cache

from monitor.readings import Record
from monitor.wire.rejected import Rejected, shown

OURS = "rig"


@lru_cache(maxsize=256)
def check_node(node: str) -> None:
    """Raises Rejected for a node's name that is the daemon's own, or empty, or too long."""
    if node == OURS:
        raise Rejected("rig-name", f'The node name "{OURS}" belongs to this program; the node needs another.')
    if not 0 < len(node) <= 64 or not node.isprintable():
        raise Rejected("bad-name", f'"{shown(node)}" is no name for a node.')


def by_node(records: tuple[Record, ...], otherwise: str) -> dict[str, tuple[Record, ...]]:
    """The records of each node, in their order. `otherwise` is the node of a name without a slash."""
    nodes: dict[str, list[Record]] = {}
    for record in records:
        node, slash, _ = record.name.partition("/")
        nodes.setdefault(node if slash else otherwise, []).append(record)
    return {node: tuple(own) for node, own in nodes.items()}


def own_and_foreign(records: tuple[Record, ...], node: str) -> tuple[tuple[Record, ...], tuple[str, ...]]:
    """The records whose name begins with node + "/", and the names of the others."""
    prefix = node + "/"
    own = tuple([record for record in records if record.name.startswith(prefix)])
    if len(own) == len(records):
        return own, ()
    return own, tuple(record.name for record in records if not record.name.startswith(prefix))
