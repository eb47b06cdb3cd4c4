"""The [[feed]] tables, and a broker as both a feed and the notices name it."""

from typing import Annotated, Any, ClassVar, Literal
from urllib.parse import urlsplit

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from monitor.rig.faults import all_of, fault, shown
from monitor.rig.kinds import File, Span, Table, Text
from monitor.rig.map_tables import EVERY, MapTables, RegisterTables

PORTS = {"mqtt": 1883, "mqtts": 8883}
URL = "mqtt://HOST:PORT, or mqtts:// for TLS"
Clock = Literal["arrival", "node"]
CLOCK: Any = Field("arrival", description='"arrival", or "node" where the nodes keep true time')


def _url(value: Any) -> str:
    expected = URL + "; user and password go into username and password_file"
    try:
        parts = urlsplit(value if isinstance(value, str) else "")
        sound = parts.scheme in PORTS and parts.hostname and (parts.port is None or parts.port > 0)
    except ValueError:
        raise fault(shown(value), expected) from None
    if not sound or parts.username or parts.password or parts.path.strip("/") or parts.query or parts.fragment:
        raise fault("an address with a password" if parts.password else shown(value), expected)
    return str(value)


def _topics(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not value:
        raise fault(shown(value), 'a list of topics such as ["holdwater/+/readings"]')
    return tuple(all_of((f" {number}", _topic, each) for number, each in enumerate(value, 1)))


def _topic(value: Any) -> str:
    """A topic filter of MQTT 3.1.1 section 4.7: + and # stand for whole levels, # for the last ones."""
    levels = value.split("/") if isinstance(value, str) else [""]
    wild = [level for level in levels[:-1] if "#" in level] + [level for level in levels if len(level) > 1]
    if not "".join(levels).isprintable() or not any(levels) or any(c in level for level in wild for c in "#+"):
        raise fault(shown(value), 'a topic such as "holdwater/+/readings"; + and # stand for whole levels')
    return str(value)


Url = Annotated[str, BeforeValidator(_url)]
Topics = Annotated[tuple[str, ...], BeforeValidator(_topics)]


class Broker(Table):
    """How to reach an MQTT broker."""

    url: Url | None = Field(None, alias="mqtt", description=URL)
    username: Text | None = Field(None, description="the user's name at the broker")
    password: Text | None = Field(None, repr=False, description="a text; better a password_file")
    password_file: File | None = Field(None, description="a file whose first line is the password")
    ca: File | None = Field(None, description="a file of certificates to trust")
    cert: File | None = Field(None, description="a file with our certificate")
    key: File | None = Field(None, description="a file with our certificate's key")

    @field_validator("password", "password_file")
    @classmethod
    def _has_a_user(cls, value: Any, info: ValidationInfo) -> Any:
        if value is not None and info.data.get("username", "") is None:
            raise fault("a password and no user", "username beside it")
        if info.field_name == "password_file" and value is not None and info.data.get("password") is not None:
            raise fault("a second password", "one of password and password_file")
        return value

    @field_validator("ca", "cert", "key")
    @classmethod
    def _goes_with_tls(cls, value: Any, info: ValidationInfo) -> Any:
        url = info.data.get("url")
        if value is not None and url is not None and not url.startswith("mqtts:"):
            raise fault(f"a TLS setting, and {shown(url)}", "an address that begins with mqtts://")
        return value

    @property
    def host(self) -> str:
        return urlsplit(self.url or "").hostname or ""

    @property
    def port(self) -> int:
        parts = urlsplit(self.url or "")
        return parts.port or PORTS.get(parts.scheme, 0)

    @property
    def tls(self) -> bool:
        return (self.url or "").startswith("mqtts:")

    def secret(self) -> str | None:
        """The password, read from its file where it stands in one. Raises OSError or UnicodeDecodeError."""
        if self.password_file is None:
            return self.password
        return self.password_file.read_text("utf-8").partition("\n")[0].rstrip("\r")  # an empty file: no password


class MqttFeed(Broker):
    """Readings from a broker."""

    kind: ClassVar[str] = "mqtt"
    url: Url = Field(alias="mqtt", description=URL)
    topics: Topics = Field(("holdwater/+/readings",), description='a list of topics such as ["holdwater/+/readings"]')
    clock: Clock = CLOCK
    maps: MapTables = Field((), alias="map", description="[[feed.map]] tables: topic, pointer, reading, unit")


class SerialFeed(Table):
    """Readings from a serial port."""

    kind: ClassVar[str] = "serial"
    port: Text = Field(alias="serial", description='a serial port such as "/dev/ttyUSB0"')
    baud: int = Field(115200, ge=50, le=4_000_000, description="a whole number such as 115200")
    clock: Clock = CLOCK


class ModbusFeed(Table):
    """Readings asked for, one by one, of Modbus RTU devices on a serial line."""

    kind: ClassVar[str] = "modbus"
    port: Text = Field(alias="modbus", description='a serial port such as "/dev/ttyUSB0"')
    baud: int = Field(9600, ge=50, le=4_000_000, description="a whole number such as 9600")
    parity: Literal["none", "even", "odd"] = Field("none", description='"none", "even" or "odd"')
    every_s: Span = Field(1.0, alias="every", description=EVERY)
    registers: RegisterTables = Field(
        alias="register", description="[[feed.register]] tables: reading, unit, table, address"
    )
    clock: ClassVar[str] = "arrival"

    @field_validator("registers")
    @classmethod
    def _asks_for_something(cls, registers: RegisterTables) -> RegisterTables:
        if not registers:
            raise fault("no table", cls.model_fields["registers"].description or "")
        return registers


class SimulatedFeed(Table):
    """Readings from the simulated world."""

    kind: ClassVar[str] = "simulated"
    scenario: Text = Field(alias="simulated", description="the name of a scenario")
    speed: float = Field(1.0, gt=0, le=1000, description="a number above 0; 1 is real time")
    seed: int | None = Field(None, ge=0, lt=2**63, description="a whole number from 0; the scenario's own if left out")


class RecordedFeed(Table):
    """Readings from a recorded day."""

    kind: ClassVar[str] = "recorded"
    file: File = Field(alias="recorded", description="a file of JSON lines")
    speed: float = Field(1.0, gt=0, le=1000, description="a number above 0; 1 is real time")
    clock: Clock = CLOCK


FeedSettings = MqttFeed | SerialFeed | ModbusFeed | SimulatedFeed | RecordedFeed
FEEDS: dict[str, type[Table]] = {
    "mqtt": MqttFeed,
    "serial": SerialFeed,
    "modbus": ModbusFeed,
    "simulated": SimulatedFeed,
    "recorded": RecordedFeed,
}
