"""The whole rig, as the rest of the program sees it: frozen, checked, in the program's units."""

import re
from collections import Counter
from ipaddress import ip_address
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from monitor.quantities import L_PER_GAL
from monitor.rig.faults import fault, shown
from monitor.rig.feed_tables import Broker, FeedSettings, MqttFeed
from monitor.rig.hose_tables import Hose
from monitor.rig.injector_table import Injector
from monitor.rig.kinds import Above, File, Flow, KFactor, Pressure, Reading, Span, Table, Text, TimeZone, Volume
from monitor.rig.notice_tables import Notices
from monitor.rig.service_table import Service
from monitor.rig.tank_tables import VOLUME, Tank, volumes
from monitor.rig.tow_table import Tow

READING = 'a reading\'s name such as "tank/level"'
SIGNAL = 'a reading\'s name, or { reading = "rides/pressure", above = "20 psi" }'


class About(Table):
    """[rig]"""

    name: Text = Field("Trailer", description="the rig's name")
    units: Literal["us", "metric"] = Field("us", description='"us" or "metric"')
    language: Literal["en", "es"] = Field("en", description='"en" or "es"')
    timezone: TimeZone | None = Field(None, description='a time zone such as "America/Chicago"')


class Signal(Table):
    """A reading that says yes or no: by itself, or by standing above a threshold."""

    reading: Reading = Field(description=READING)
    above: Above | None = Field(None, description='a pressure, flow or frequency such as "20 psi"')


def _signal(value: Any) -> Any:
    return {"reading": value} if isinstance(value, str) else value


Says = Annotated[Signal, BeforeValidator(_signal)]


class FloatValve(Table):
    """Where the tank's own valve throttles the supply."""

    starts_closing_l: Volume = Field(alias="starts_closing", description=VOLUME)
    shut_l: Volume = Field(alias="shut", description=VOLUME)

    @field_validator("shut_l")
    @classmethod
    def _in_order(cls, shut_l: float, info: ValidationInfo) -> float:
        starts_l = info.data.get("starts_closing_l")
        if starts_l is not None and shut_l <= starts_l:
            raise fault(volumes(shut_l), f"more than starts_closing ({volumes(starts_l)})")
        return shut_l


class Supply(Table):
    """[supply]. `reading` None: there is a float valve and no meter."""

    reading: Reading | None = Field(None, description=READING)
    measures: Literal["total", "pulses", "rate"] = Field("total", description="total, pulses or rate")
    k_factor_per_l: KFactor | None = Field(
        None, alias="k_factor", validate_default=True, description='pulses by volume, such as "1700 /gal"'
    )
    meter_factor: float = Field(
        1.0, gt=0.1, lt=10.0, description="a number: what really passes, over what the meter counts"
    )
    float_valve: FloatValve | None = Field(None, description='{ starts_closing = "270 gal", shut = "300 gal" }')

    @field_validator("k_factor_per_l")
    @classmethod
    def _goes_with_pulses(cls, k_factor_per_l: float | None, info: ValidationInfo) -> float | None:
        measures = info.data.get("measures")
        if measures == "pulses" and k_factor_per_l is None:
            raise fault("nothing", 'the meter\'s pulses by volume, such as "1700 /gal"')
        if measures in ("total", "rate") and k_factor_per_l is not None:
            raise fault("a K-factor", f'none, since measures = "{measures}"')
        return k_factor_per_l


class Bypass(Table):
    """Where the unloader sends the water while the trigger is closed, and how long the pump bears it."""

    to: Literal["inlet", "tank", "ground"] = Field("inlet", description="inlet, tank or ground")
    time_s: Span = Field(
        alias="time",
        default_factory=lambda read: 180.0 if read.get("to") == "inlet" else 1800.0,
        description='a time such as "3 min"',
    )


class Pump(Table):
    """[[pump]]; without a name it goes by its number."""

    name: Text = Field("Pump", description="the pump's name")
    draw_l_min: Flow = Field(5.5 * L_PER_GAL, alias="draw", description='a flow such as "5.5 gpm"')
    running: Says | None = Field(None, description=SIGNAL)
    drawing: Says | None = Field(None, description=SIGNAL)
    suction: Reading | None = Field(None, description=READING)
    bypass: Bypass = Field(default_factory=lambda: Bypass(), description='{ to = "inlet", time = "3 min" }')
    pressure_pa: Pressure | None = Field(None, alias="pressure", description='a pressure such as "3000 psi"')
    hose: Hose | None = Field(None, description='{ bore = "3/8 in", length = "150 ft", rated = "4000 psi" }')
    injector: Injector | None = Field(None, description='{ draws = "0.3 gpm", tank = "5 gal", strength = 6 }')


class Extra(Table):
    """[extra]"""

    motion: Says | None = Field(None, description=SIGNAL)
    slope: Reading | None = Field(None, description=READING)
    water_temperature: Reading | None = Field(None, description=READING)
    air_temperature: Reading | None = Field(None, description=READING)
    barometer: Reading | None = Field(None, description=READING)


class Warn(Table):
    """[warn]"""

    act_time_s: Span = Field(120.0, alias="act_time", description='a time such as "2 min"')


class Journal(Table):
    """[journal]"""

    file: File = Field(Path("holdwater.db"), validate_default=True, description="a file's name")
    raw_days: float = Field(120.0, ge=1, le=36_500, description="days from 1 to 36500 that raw readings are kept")
    most_mb: float = Field(2000.0, ge=10, le=1e6, description="megabytes from 10 to 1000000; above, raw readings go")
    rollup_years: float = Field(10.0, ge=1, le=100, description="years from 1 to 100 that the roll-up is kept")


def _listen(value: Any) -> str:
    expected = '"127.0.0.1:8321" for this machine only, or "0.0.0.0:8321" for paired devices'
    host, _, port = value.rpartition(":") if isinstance(value, str) else ("", "", "")
    if not (port.isascii() and port.isdigit() and len(port) <= 5 and int(port) <= 65535) or not host:
        raise fault(shown(value), expected)
    if not _is_address(host.strip("[]")):
        raise fault(f"{shown(value)}, which is no address", expected)
    return str(value)


def _is_address(host: str) -> bool:
    try:
        return host == "localhost" or bool(ip_address(host))
    except ValueError:
        return False


HOST_NAMES = 'names of this machine such as ["holdwater.local"]'
_HOST_NAME = re.compile(r"[A-Za-z0-9]([A-Za-z0-9.-]{0,60}[A-Za-z0-9])?")


def _host_names(value: Any) -> tuple[str, ...]:
    names = value if isinstance(value, list) and len(value) <= 16 else [None]
    if not all(isinstance(name, str) and _HOST_NAME.fullmatch(name) for name in names):
        raise fault(shown(value), HOST_NAMES)
    return tuple(names)


def is_loopback(host: str) -> bool:
    """An address that only this machine can reach."""
    try:
        return host == "localhost" or ip_address(host).is_loopback
    except ValueError:
        return False


class Page(Table):
    """[page]"""

    listen: Annotated[str, BeforeValidator(_listen)] = Field("127.0.0.1:8321", description='"127.0.0.1:8321"')
    names: Annotated[tuple[str, ...], BeforeValidator(_host_names)] = Field((), description=HOST_NAMES)
    certificate: File | None = Field(None, description="a certificate's file, in PEM")
    key: File | None = Field(None, validate_default=True, description="the certificate's key, a file in PEM")

    @field_validator("key")
    @classmethod
    def _both_or_none(cls, key: Path | None, info: ValidationInfo) -> Path | None:
        if (key is None) != (info.data.get("certificate") is None):
            raise fault("one of certificate and key", "both, or none: then one is made")
        return key

    @property
    def host(self) -> str:
        return self.listen.rpartition(":")[0].strip("[]")

    @property
    def port(self) -> int:
        return int(self.listen.rpartition(":")[2])


class Rig(Table):
    """All of it. `about` is the file's [rig] table."""

    about: About
    tank: Tank
    supply: Supply | None
    pumps: tuple[Pump, ...]
    extra: Extra
    warn: Warn
    feeds: tuple[FeedSettings, ...]
    journal: Journal
    page: Page
    notices: Notices
    tow: Tow | None = None
    services: tuple[Service, ...] = ()

    @property
    def named_feeds(self) -> tuple[tuple[str, FeedSettings], ...]:
        """Each feed with the name it goes by while running, its kind and its number among its kind: ``mqtt 1``."""
        counts = Counter[str]()
        named = []
        for feed in self.feeds:
            counts[feed.kind] += 1
            named.append((f"{feed.kind} {counts[feed.kind]}", feed))
        return tuple(named)

    @property
    def broker(self) -> Broker | None:
        """Where notices go: to the broker they name, else to the first MQTT feed's, else nowhere."""
        if self.notices.url is not None:
            return self.notices
        return next((feed for feed in self.feeds if isinstance(feed, MqttFeed)), None)
