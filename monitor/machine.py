"""What the daemon stands on: clocks, threads, the network, serial ports, the disk. A simulation gives its own."""

import os
import sqlite3
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import serial
from paho.mqtt.client import Client

from monitor.feeds.broker import client_of
from monitor.feeds.serial_port import open_port
from monitor.journal.schema import connect
from monitor.rig.feed_tables import Broker
from monitor.worker import Hire, Thread


@dataclass(frozen=True)
class Machine:
    """The real machine, where nothing else is said."""

    monotonic: Callable[[], float] = time.monotonic
    """Real seconds; never falls."""
    wall: Callable[[], float] = time.time
    """What the wall clock says, in Unix seconds; somebody may set it."""
    hire: Hire = Thread
    mqtt_client: Callable[[Broker], Client] = client_of
    serial_port: Callable[[str, int], serial.Serial] = open_port
    database: Callable[[Path], sqlite3.Connection] = connect
    sync: Callable[[int], None] = os.fsync
