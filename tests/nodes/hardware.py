"""Stands in for a board's pins under the MicroPython Unix build: inputs and outputs are files in the current folder."""

import json
import os
import sys

_relay = None


def _inputs():
    try:
        with open("inputs.json") as file:
            return json.load(file)
    except (OSError, ValueError):
        return {}


def watchdog():
    _write("fed", "")


def network_up():
    if _inputs().get("no_network"):
        raise OSError("no network")


def of_itself():
    return [("rssi", "dBm", -61)]


def serial_write(data):
    sys.stdout.buffer.write(data)  # the test has put the line there


def level():
    value = _inputs().get("level")
    return None if value is None else ("m", value)


def moving():
    return _inputs().get("moving")


def running():
    return _inputs().get("running")


def drawing():
    return _inputs().get("drawing")


def pulses():
    return _inputs().get("pulses", 0)


def relay(closed):
    global _relay
    if closed != _relay:
        _relay = closed
        _write("relay", "closed" if closed else "open")


def reset_pressed():
    return bool(_inputs().get("reset"))


def remember(litres):
    pass  # what a reset spares is lost with the process


def store(litres):
    _write("total", "%f" % litres)


def recall():
    try:
        with open("total") as file:
            return float(file.read())
    except OSError:
        return 0.0


def _write(name, text):
    with open(name + ".new", "w") as file:
        file.write(text)
    os.rename(name + ".new", name)
