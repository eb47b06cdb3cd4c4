"""Nodes that do not speak the wire format: mapped MQTT messages, and Modbus RTU across a pair of pseudo-terminals."""

import asyncio
import contextlib
import os
import select
import threading
import tty

import pytest
from pymodbus.server import StartAsyncSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice
from running import Running

from monitor.feeds.modbus import ModbusFeed
from monitor.feeds.mqtt import MqttFeed
from monitor.readings import Pack, Record, Reject
from monitor.rig.load import fairground, parse

MAPPED = {
    "mqtt": "mqtt://127.0.0.1:1",
    "map": [
        {"topic": "shed/sensor7/state", "pointer": "/level/cm", "reading": "tank/level", "unit": "cm", "scale": 0.5},
        {"topic": "shed/sensor7/state", "pointer": "/pump", "reading": "rides/running", "unit": "bool"},
        {"topic": "shed/meter", "reading": "inlet/total", "unit": "gal"},
    ],
}


def table(**feed):
    return parse(fairground(), replaced={"feed": [feed]}).feeds[0]


@pytest.mark.broker
def test_messages_of_another_make_arrive_as_readings(broker):
    feed = table(**MAPPED)
    run = Running(MqttFeed("mqtt 1", feed.model_copy(update={"url": broker.url}), feed.topics, feed.maps)).ready()
    try:
        broker.publish("shed/sensor7/state", '{"level":{"cm":120},"pump":"on"}')
        broker.publish("shed/meter", "100")
        broker.publish("shed/meter", "offline")
        broker.publish("holdwater/tank/readings", '[{"n":"tank/level","u":"m","v":0.5}]')
        packs = run.wait_for(Pack, 4)
        assert [(pack.node, *pack.records) for pack in packs] == [
            ("tank", Record("tank/level", "m", 0.6)), ("rides", Record("rides/running", "bool", True)),
            ("inlet", Record("inlet/total", "l", pytest.approx(378.5411784))), ("tank", Record("tank/level", "m", 0.5)),
        ]  # fmt: skip
        [reject] = run.wait_for(Reject)
        assert (reject.kind, reject.raw) == ("not-a-number", "offline")
    finally:
        run.feed.close()


class Line:
    """Two pseudo-terminals joined: what one end sends, the other hears."""

    def __init__(self) -> None:
        self._pairs = [os.openpty(), os.openpty()]
        for master, slave in self._pairs:
            tty.setraw(master)
            tty.setraw(slave)
        self.ends = [os.ttyname(slave) for _, slave in self._pairs]
        self.cut = False
        self._over, self._tell = os.pipe()
        self._thread = threading.Thread(target=self._carry)
        self._thread.start()

    def _carry(self) -> None:
        (one, _), (other, _) = self._pairs
        while self._over not in (ready := select.select([one, other, self._over], [], [])[0]):
            for end in ready:
                data = os.read(end, 4096)
                if not self.cut:
                    os.write(other if end == one else one, data)

    def close(self) -> None:
        os.write(self._tell, b".")
        self._thread.join()
        for each in (*self._pairs[0], *self._pairs[1], self._over, self._tell):
            os.close(each)


@pytest.fixture
def line():
    line = Line()
    yield line
    line.close()


@pytest.fixture
def device(line):
    """pymodbus's own server on the far end: holding registers, input registers, coils, discrete inputs."""
    loop = asyncio.new_event_loop()
    bits = SimData(0, count=16, values=[True, False] * 8, datatype=DataType.BITS)
    words = SimData(0, values=[1530, 65529, 0x3F9D, 0xF3B6, 0xF3B6, 0x3F9D, 1, 0], datatype=DataType.REGISTERS)
    device = SimDevice(id=7, simdata=([bits], [bits], [words], [words]))

    async def serve() -> None:
        await StartAsyncSerialServer(device, port=line.ends[1], baudrate=9600, timeout=1)

    def run() -> None:
        asyncio.set_event_loop(loop)
        with contextlib.suppress(asyncio.CancelledError):
            loop.run_until_complete(task)

    task = loop.create_task(serve())
    thread = threading.Thread(target=run)
    thread.start()
    yield line.ends[0]
    loop.call_soon_threadsafe(task.cancel)
    thread.join(10)
    loop.close()


def register(reading: str, unit: str, address: int, **more):
    return {"reading": reading, "unit": unit, "address": address, "device": 7} | more


def modbus(port: str, *registers) -> Running:
    return Running(ModbusFeed("modbus 1", table(modbus=port, every="0.05 s", register=list(registers))))


def test_registers_are_asked_for_and_arrive_as_readings(device):
    run = modbus(
        device,
        register("tank/level", "mm", 0, table="input", scale=0.5),
        register("tank/water_temperature", "°C", 1, form="s16"),
        register("stands/suction", "psi", 2, form="f32"),
        register("rides/speed", "Hz", 4, form="f32", low_word_first=True),
        register("inlet/total", "gal", 6, form="u32"),
        register("rides/running", "bool", 0, table="coil"),
        register("rides/drawing", "bool", 1, table="discrete"),
    )
    try:
        run.ready()
        found = {pack.records[0].name: pack.records[0] for pack in run.wait_for(Pack, 7)}
        assert found == {
            "tank/level": Record("tank/level", "m", pytest.approx(0.765)),
            "tank/water_temperature": Record("tank/water_temperature", "Cel", -7.0),
            "stands/suction": Record("stands/suction", "Pa", pytest.approx(1.234 * 6894.757, rel=1e-6)),
            "rides/speed": Record("rides/speed", "Hz", pytest.approx(1.234, rel=1e-6)),
            "inlet/total": Record("inlet/total", "l", pytest.approx(65536 * 3.785411784)),
            "rides/running": Record("rides/running", "bool", True),
            "rides/drawing": Record("rides/drawing", "bool", False),
        }
    finally:
        run.feed.close()


def test_a_register_that_is_not_there_is_a_named_reject_and_the_others_are_read(device):
    run = modbus(device, register("tank/none", "mm", 4000), register("tank/level", "mm", 0))
    try:
        assert run.wait_for(Reject)[0].kind == "modbus"
        assert run.wait_for(Pack)[0].records[0].name == "tank/level"
    finally:
        run.feed.close()


def test_a_device_that_falls_silent_is_named_and_heard_again(device, line):
    run = modbus(device, register("tank/level", "mm", 0)).ready()
    try:
        line.cut = True
        assert "A and B" in run.why("No answer from device 7")
        line.cut = False
        run.ready()
    finally:
        run.feed.close()


def test_a_port_that_is_not_there_is_said(tmp_path):
    run = modbus(str(tmp_path / "none"), register("tank/level", "mm", 0))
    try:
        assert run.why("no serial port")
    finally:
        run.feed.close()
