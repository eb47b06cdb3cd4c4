"""What somebody did to a running day, kept as the rows a scenario has for it: added to the file, they do it again."""

import json
from typing import Any

Row = dict[str, Any]


class Done:
    """Faults thrown and lifted, and things worked by hand, each at a whole second of the story."""

    def __init__(self) -> None:
        self._rows: list[tuple[str, Row]] = []
        self._on: dict[str, Row] = {}

    def threw(self, at_s: float, what: str, params: Row, lasting: bool) -> None:
        row = {"what": what, "at": f"{at_s:g} s", **params}
        self._rows.append(("fault", row))
        if lasting:
            self._on[what] = row

    def lifted(self, at_s: float, what: str) -> None:
        """Only what was thrown by hand can be lifted in a scenario's rows."""
        if (row := self._on.pop(what, None)) is not None:
            row["for"] = f"{at_s - float(row['at'].removesuffix(' s')):g} s"

    def worked(self, at_s: float, what: str, how: Row) -> None:
        self._rows.append(("by_hand", {"what": what, "at": f"{at_s:g} s", **how}))

    def toml(self) -> str:
        return "\n".join(f"[[{table}]]\n{_lines(row)}" for table, row in self._rows)


def _lines(row: Row) -> str:
    return "".join(f"{key} = {json.dumps(value, ensure_ascii=False)}\n" for key, value in row.items())
