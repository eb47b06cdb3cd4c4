"""The [[feed]] tables, and a broker as both a feed and the notices name it."""

from typing import Annotated, Any, ClassVar, Literal
from urllib.parse import urlsplit

from pydantic import BeforeValidator, Field

from monitor.rig.faults import fault, shown
from monitor.rig.kinds import File, Table, Text

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


def _texts(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


Url = Annotated[str, BeforeValidator(_url)]
Topics = Annotated[tuple[Text, ...], BeforeValidator(_texts), Field(min_length=1)]


class Broker(Table):
    """How to reach an MQTT broker."""

    url: Url | None = Field(None, alias="mqtt", description=URL)
    username: Text | None = Field(None, description="the user's name at the broker")
    password: Text | None = Field(None, repr=False, description="a text; better a password_file")
    password_file: File | None = Field(None, description="a file whose first line is the password")
    ca: File | None = Field(None, description="a file of certificates to trust")
    cert: File | None = Field(None, description="a file with our certificate")
    key: File | None = Field(None, description="a file with our certificate's key")

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
        return self.password_file.read_text("utf-8").splitlines()[0]


class MqttFeed(Broker):
    """Readings from a broker."""

    kind: ClassVar[str] = "mqtt"
    url: Url = Field(alias="mqtt", description=URL)
    topics: Topics = Field(("holdwater/+/readings",), description='a list of topics such as ["holdwater/+/readings"]')
    clock: Clock = CLOCK


class SerialFeed(Table):
    """Readings from a serial port."""

    kind: ClassVar[str] = "serial"
    port: Text = Field(alias="serial", description='a serial port such as "/dev/ttyUSB0"')
    baud: int = Field(115200, ge=50, le=4_000_000, description="a whole number such as 115200")
    clock: Clock = CLOCK


class SimulatedFeed(Table):
    """Readings from the simulated world."""

    kind: ClassVar[str] = "simulated"
    scenario: Text = Field(alias="simulated", description="the name of a scenario")
    speed: float = Field(1.0, gt=0, le=1000, description="a number above 0; 1 is real time")
    seed: int = Field(1, ge=0, lt=2**63, description="a whole number from 0")


class RecordedFeed(Table):
    """Readings from a recorded day."""

    kind: ClassVar[str] = "recorded"
    file: File = Field(alias="recorded", description="a file of JSON lines")
    speed: float = Field(1.0, gt=0, le=1000, description="a number above 0; 1 is real time")
    clock: Clock = CLOCK


FeedSettings = MqttFeed | SerialFeed | SimulatedFeed | RecordedFeed
FEEDS: dict[str, type[Table]] = {
    "mqtt": MqttFeed,
    "serial": SerialFeed,
    "simulated": SimulatedFeed,
    "recorded": RecordedFeed,
}
