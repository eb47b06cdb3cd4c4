"""The tank node: the level, twice a second, and whether the trailer moves."""

import hardware
import settings
from node import Node, line_of


def read():
    readings = []
    level = hardware.level()  # (unit, value) as settings and wiring have it, or None: then nothing is sent
    if level is not None:
        readings.append(("level", level[0], level[1]))
    moving = hardware.moving()
    if moving is not None:
        readings.append(("motion", None, moving))
    return readings


Node(settings.NODE, read, line_of(settings, hardware), hardware, 500).run()
