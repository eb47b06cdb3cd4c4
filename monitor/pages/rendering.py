"""The state as JSON. The rig's part, half of it and the same as long as the rig file is, is encoded once."""

from typing import Any

import msgspec


class Rendering:
    """Remembers the last rig it has encoded."""

    def __init__(self) -> None:
        self._encode = msgspec.json.Encoder().encode
        self._rig: dict[str, Any] | None = None
        self._raw = msgspec.Raw(b"null")

    def __call__(self, state: dict[str, Any]) -> bytes:
        if state["rig"] is not self._rig:
            self._rig, self._raw = state["rig"], msgspec.Raw(self._encode(state["rig"]))
        return self._encode(state | {"rig": self._raw})
