"""Yours: copy to the board and change."""

NODE = "tank"  # its name; the rig file speaks of "tank/level"
BROKER = "192.168.4.1"  # None: send over the serial line instead
PORT = 1883
USER = PASSWORD = None
WIFI = ("trailer", "the Wi-Fi's password")
L_PER_PULSE = 0.1  # the meter's, as its maker says; the bucket test sets it right
