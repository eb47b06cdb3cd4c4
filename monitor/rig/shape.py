"""The `shape` of a tank as it stands in the rig file, for each kind the tank room can build."""

from dataclasses import MISSING, fields
from typing import Any, get_type_hints

from pydantic import Field, ValidationError, create_model

from monitor.rig.faults import Refused, fault, shown
from monitor.rig.kinds import Length, Table
from monitor.rig.tables import told
from monitor.tank.heads import ENDS, End
from monitor.tank.shapes import SHAPES, Shape

KINDS: dict[str, type[Shape]] = {shape.kind: shape for shape in SHAPES}


def read_shape(raw: Any) -> Shape:
    """A shape from its inline table: ``{ kind = "box", length = "1 m", width = "1 m", height = "1 m" }``."""
    if not isinstance(raw, dict) or not isinstance(raw.get("kind"), str) or raw["kind"] not in KINDS:
        found = shown(raw.get("kind", raw)) if isinstance(raw, dict) else shown(raw)
        raise fault(found, "kind = one of " + ", ".join(f'"{kind}"' for kind in KINDS), "kind")
    kind = KINDS[raw["kind"]]
    table = _TABLES[raw["kind"]]
    try:
        sizes = table.model_validate({key: raw[key] for key in raw if key != "kind"})
    except ValidationError as error:
        raise Refused(list(told("", table, error))) from None
    try:
        return kind(**dict(sizes))
    except ValueError as error:
        raise fault(shown(raw), f"a {raw['kind']} that can be: {error}") from None


def _table(shape: Any) -> type[Table]:
    """The keys a shape takes: its own fields, lengths without the unit in their names."""
    hints = get_type_hints(shape)
    keys: dict[str, Any] = {}
    for field in fields(shape):
        kind = End if hints[field.name] == End else Length
        default = ... if field.default is MISSING else field.default
        described = ", ".join(ENDS) if kind is End else 'a length such as "42 in"'
        keys[field.name] = (
            kind,
            Field(default, alias=field.name.removesuffix("_m"), description=described),
        )
    return create_model(shape.__name__, __base__=Table, **keys)


_TABLES = {kind: _table(shape) for kind, shape in KINDS.items()}
