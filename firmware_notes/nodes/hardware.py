"""All that touches the board, here for an ESP32: change the pins, keep the names. No host has pins to test it on."""

import os

import machine
import network
import settings

LEVEL = machine.ADC(machine.Pin(34), atten=machine.ADC.ATTN_11DB)
PULSES, RUNNING, DRAWING = (machine.Pin(number, machine.Pin.IN) for number in (25, 26, 27))  # pull-ups outside
RELAY, RESET = machine.Pin(32, machine.Pin.OUT, value=0), machine.Pin(33, machine.Pin.IN)
SHUNT_OHM = 100.0  # 4-20 mA through it is 0.4 to 2.0 V
_counted = 0
_wifi = network.WLAN(network.STA_IF)
_watchdog = machine.WDT(timeout=8000)
_memory = machine.RTC()


def _pulse(_pin):
    global _counted
    _counted = (_counted + 1) & 0xFFFF


PULSES.irq(_pulse, machine.Pin.IRQ_FALLING)


def watchdog():
    _watchdog.feed()


def network_up():
    """Raises OSError while there is no network; comes back at once, for the watchdog's sake."""
    if not _wifi.isconnected():
        _wifi.active(True)
        if _wifi.status() != network.STAT_CONNECTING:
            _wifi.connect(*settings.WIFI)
        raise OSError("no Wi-Fi yet")


def of_itself():
    return [("rssi", "dBm", _wifi.status("rssi"))] if _wifi.isconnected() else []


def serial_write(data):
    import sys

    sys.stdout.buffer.write(data)


def level():
    volts = sum(LEVEL.read_uv() for _ in range(16)) / 16e6
    return "A", volts / SHUNT_OHM


def moving():
    return None


def running():
    return not RUNNING.value()


def drawing():
    return not DRAWING.value()


def pulses():
    return _counted


def relay(closed):
    RELAY.value(1 if closed else 0)


def reset_pressed():
    return not RESET.value()


def remember(litres):
    _memory.memory(b"%f" % litres)


def store(litres):
    with open("total.new", "w") as file:
        file.write("%f" % litres)
    os.rename("total.new", "total")


def recall():
    """The higher of what the reset spared and what is in flash."""
    kept = [0.0]
    for read in (lambda: _memory.memory().decode(), lambda: open("total").read()):
        try:
            kept.append(float(read()))
        except (OSError, ValueError):
            pass
    return max(kept)
