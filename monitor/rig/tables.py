"""Reading tables one by one, so that the fault of one hides no fault of another; pydantic's errors in plain words."""

from collections.abc import Iterator
from contextlib import suppress
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from monitor.rig.faults import Fault, Refused, joined, shown
from monitor.rig.kinds import Table

T = TypeVar("T", bound=Table)
TABLE = "a table of keys and values"


class Tables:
    """Reads table after table and gathers what is wrong with them."""

    def __init__(self, folder: Path) -> None:
        self.faults: list[Fault] = []
        self._context = {"folder": folder}

    def one(self, place: str, model: type[T], raw: Any, mended: bool = False) -> T | None:
        """The table, or None with its faults noted; `mended`: without its faulty keys, where that is a whole table."""
        try:
            return model.model_validate(raw, context=self._context)
        except ValidationError as error:
            self.faults += told(place, model, error)
            if mended and isinstance(raw, dict):
                bad = {each["loc"][0] for each in error.errors() if each["loc"]}
                with suppress(ValidationError):
                    return model.model_validate({k: v for k, v in raw.items() if k not in bad}, context=self._context)
        return None

    def places(self, table: str, raw: Any) -> list[tuple[str, Any]]:
        """Each of a table that may stand several times, with its place: ``[[pump]] 2``."""
        if not isinstance(raw, list):
            return [(f"[{table}]", raw)]
        return [(f"[[{table}]] {number}", each) for number, each in enumerate(raw, 1)]


def told(place: str, model: type[Table], error: ValidationError) -> Iterator[Fault]:
    """The faults in a pydantic error, each at its key."""
    for each in error.errors(include_url=False):
        refused = each.get("ctx", {}).get("error")
        key = _key(model, each["loc"])
        if isinstance(refused, Refused):
            yield from (fault._replace(table=place, key=joined(key, fault.key)) for fault in refused.faults)
        elif each["type"] != "default_factory_not_called":
            yield _told(place, key, model, each)


def unknown(name: str, known: list[str]) -> str:
    """What was expected instead of a name nobody knows."""
    near = get_close_matches(name, known, 1)
    return f"{near[0]} (did you mean that?)" if near else "one of " + ", ".join(known)


def _told(place: str, key: str, model: type[Table], error: ErrorDetails) -> Fault:
    loc = error["loc"]
    match error["type"]:
        case "extra_forbidden":
            return Fault(place, key, "an unknown key", unknown(str(loc[-1]), _keys(_model_at(model, loc[:-1]))))
        case "missing":
            return Fault(place, key, "nothing", _expected(model, loc))
        case _:
            return Fault(place, key, shown(error["input"]), _expected(model, loc))


def _key(model: type[Table], loc: tuple[int | str, ...]) -> str:
    """A place inside a table as a person would write it: ``outlet.bore``, ``topics 2``."""
    key = ""
    for part in loc:
        field = model.model_fields.get(str(part))  # pydantic places the fault of a default by the attribute's name
        key = joined(key, f" {part + 1}" if isinstance(part, int) else (field and field.alias) or part)
    return key


def _keys(model: type[Table]) -> list[str]:
    return [field.alias or name for name, field in model.model_fields.items()]


def _field(model: type[Table], key: int | str) -> Any:
    return next((field for name, field in model.model_fields.items() if (field.alias or name) == key), None)


def _model_at(model: type[Table], loc: tuple[int | str, ...]) -> type[Table]:
    """The table that stands at a place inside another."""
    for key in loc:
        field = _field(model, key)
        model = next(_tables_in(field.annotation), model) if field else model
    return model


def _tables_in(annotation: Any) -> Iterator[type[Table]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    for part in get_args(annotation):
        yield from _tables_in(part)


def _expected(model: type[Table], loc: tuple[int | str, ...]) -> str:
    """What a key wants, in the words of its field."""
    keys = tuple(part for part in loc if isinstance(part, str))
    field = _field(_model_at(model, keys[:-1]), keys[-1]) if keys else None
    return field.description if field and field.description else TABLE
