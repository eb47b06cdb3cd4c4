"""The relay node: closed for as long as the daemon's permit is heard; see permit.py for the rule it holds to."""

import time

import hardware
import settings
from node import Node, line_of
from permit import Permit

permit = Permit()
hardware.relay(False)


def heard(topic, payload, retained):
    permit.heartbeat(payload, retained, node.clock.now())


def lost():
    permit.lost()
    hardware.relay(False)


line = line_of(settings, hardware, "holdwater/rig/permit", heard, lost)
node = Node(settings.NODE, lambda: [("closed", None, permit.closed)], line, hardware)

while True:
    node.step()
    now_ms = node.clock.now()
    permit.button(hardware.reset_pressed(), now_ms)
    hardware.relay(permit.look(now_ms))
    time.sleep_ms(20)
