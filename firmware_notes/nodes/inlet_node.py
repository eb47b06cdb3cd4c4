"""The inlet node: the meter's running total, each second."""

import hardware
import settings
from counting import Total
from node import Node, line_of

total = Total(hardware, settings.L_PER_PULSE)
Node(settings.NODE, lambda: [("total", "l", total.read())], line_of(settings, hardware), hardware).run()
