"""The pump node: engine or clutch on, and water really leaving, each second."""

import hardware
import settings
from node import Node, line_of


def read():
    said = (("running", hardware.running()), ("drawing", hardware.drawing()))
    return [(name, None, value) for name, value in said if value is not None]


Node(settings.NODE, read, line_of(settings, hardware), hardware).run()
