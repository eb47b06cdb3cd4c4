"""The [notices] table: the broker, the permit, and where horn and strobe hang."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from monitor.rig.faults import fault, shown
from monitor.rig.feed_tables import Broker
from monitor.rig.kinds import Table, Text

OUTPUT = '{ serial = "/dev/ttyUSB1", pin = "rts" } or { topic = "trailer/horn" }'


def _topic(value: Any) -> str:
    if not isinstance(value, str) or not value.strip("/") or any(c in value for c in "+#") or not value.isprintable():
        raise fault(shown(value), 'a topic such as "trailer/horn", without + and #')
    if value.startswith("holdwater/"):
        raise fault(shown(value), "a topic of the relay's own, outside holdwater/")
    return value


class Output(Table):
    """A relay: on a serial line's RTS or DTR pin, or at the broker under a topic."""

    serial: Text | None = Field(None, description='a serial port such as "/dev/ttyUSB1"')
    pin: Literal["rts", "dtr"] = Field("rts", description='"rts" or "dtr"')
    topic: Annotated[str, BeforeValidator(_topic)] | None = Field(
        None, validate_default=True, description='a topic such as "trailer/horn"'
    )
    on: Text = Field("1", description="what switches the relay on")
    off: Text = Field("0", description="what switches it off")

    @field_validator("topic")
    @classmethod
    def _one_of_them(cls, topic: str | None, info: ValidationInfo) -> str | None:
        if (topic is None) == (info.data.get("serial") is None):
            found = "neither serial nor topic" if topic is None else "serial and topic"
            raise fault(found, OUTPUT)
        return topic

    @property
    def place(self) -> str:
        return f"{self.serial} {self.pin}" if self.serial else f"topic {self.topic}"


class Notices(Broker):
    """[notices]"""

    permit: bool = Field(False, description="true or false")
    horn: Output | None = Field(None, description=OUTPUT)
    strobe: Output | None = Field(None, description=OUTPUT)

    @property
    def outputs(self) -> tuple[tuple[str, Output], ...]:
        """Horn and strobe, those that there are, by name."""
        both = (("horn", self.horn), ("strobe", self.strobe))
        return tuple((name, output) for name, output in both if output is not None)
