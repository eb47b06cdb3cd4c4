"""What every node does: packs with seq and uptime, kept while the line is down, sent over MQTT or a serial line.

`hardware` is the one file that touches pins (`hardware.py`, for your board); all here runs on any MicroPython.
"""

import json
import time

KEPT = 30
"""Readings kept while the line is down; older ones make room."""
WAIT_MS = (500, 1000, 2000, 4000)


def crc16(data):
    """CRC-16/MODBUS, as the wire format wants it at a line's end."""
    crc = 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ 0xA001 if crc & 1 else crc >> 1
    return crc


class Clock:
    """Milliseconds since the start that do not wrap as the ticks do; asked at least every few minutes."""

    def __init__(self):
        self._last = time.ticks_ms()
        self.ms = 0

    def now(self):
        ticks = time.ticks_ms()
        self.ms += time.ticks_diff(ticks, self._last)
        self._last = ticks
        return self.ms


class SerialLine:
    """Packs as lines, with their check. There is nothing to connect."""

    up = True

    def __init__(self, hardware):
        self.hardware = hardware

    def keep_up(self, now_ms):
        return True

    def send(self, pack):
        data = pack.encode()
        self.hardware.serial_write(data + b"*%04X\n" % crc16(data))


class MqttLine:
    """A connection that is kept up: `up` and the will beside the readings, tried again ever more slowly."""

    def __init__(self, client, node, hardware, subscribe=None, lost=None):
        self.client, self.node, self.hardware, self.subscribe, self.lost = client, node, hardware, subscribe, lost
        self.up = False
        self._next_ms = self._failed = 0

    def keep_up(self, now_ms):
        try:
            if self.up:
                self.client.look()
            elif now_ms >= self._next_ms:
                self._connect()
        except OSError:
            self._down(now_ms)
        return self.up

    def send(self, pack):
        self.client.publish("holdwater/%s/readings" % self.node, pack)

    def _connect(self):
        self.hardware.network_up()
        alive = "holdwater/%s/alive" % self.node
        self.client.connect(alive, "gone")
        self.client.publish(alive, "up", retain=True, qos=1)
        if self.subscribe:
            self.client.subscribe(self.subscribe)
        self.up, self._failed = True, 0

    def _down(self, now_ms):
        if self.up and self.lost:
            self.lost()
        self.up = False
        self.client.close()
        self._next_ms = now_ms + WAIT_MS[min(self._failed, len(WAIT_MS) - 1)]
        self._failed += 1


class Node:
    """`read()` gives the readings of now: a list of (name, unit, value); a truth value has the unit None."""

    def __init__(self, name, read, line, hardware, every_ms=1000):
        self.name, self.read, self.line, self.hardware, self.every_ms = name, read, line, hardware, every_ms
        self.clock = Clock()
        self.seq = 0
        self._kept = []
        self._next_ms = 0

    def step(self):
        """Once round: keep the line up, read when it is time, send what there is, feed the watchdog."""
        now_ms = self.clock.now()
        self.hardware.watchdog()
        up = self.line.keep_up(now_ms)
        if now_ms < self._next_ms:
            return
        self._next_ms = now_ms + self.every_ms
        self._kept += [(now_ms, reading) for reading in self.read()]
        del self._kept[:-KEPT]
        if up:
            self._send(now_ms)

    def _send(self, now_ms):
        try:
            self.line.send(self.pack(now_ms))
        except OSError:
            return  # it stays in `kept`, and the line finds out by itself
        self._kept = []

    def pack(self, now_ms):
        """All that is kept as one SenML pack; what was read before now says how long ago."""
        self.seq += 1
        rows = [record(reading, taken_ms - now_ms) for taken_ms, reading in self._kept]
        rows += [record(("seq", "count", self.seq), 0), record(("uptime", "s", now_ms / 1000), 0)]
        rows += [record(each, 0) for each in self.hardware.of_itself()]
        rows[0]["bn"] = self.name + "/"
        return json.dumps(rows)

    def run(self):
        while True:
            self.step()
            time.sleep_ms(20)


def record(reading, ago_ms):
    name, unit, value = reading
    row = {"n": name, "vb": value} if unit is None else {"n": name, "u": unit, "v": value}
    if ago_ms <= -50:
        row["t"] = ago_ms / 1000
    return row


def line_of(settings, hardware, subscribe=None, heard=None, lost=None):
    """The line that the settings ask for."""
    if not settings.BROKER:
        return SerialLine(hardware)
    from mqtt import Client

    user, password = settings.USER, settings.PASSWORD
    trust = getattr(settings, "TRUST", None)
    client = Client("node-" + settings.NODE, settings.BROKER, settings.PORT, user, password, heard=heard, trust=trust)
    return MqttLine(client, settings.NODE, hardware, subscribe, lost)
