"""Yours: copy to the board and change."""

NODE = "tank"  # its name; the rig file speaks of "tank/level"
BROKER = "192.168.4.1"  # None: send over the serial line instead
PORT = 1883  # 8883 with TLS
USER = PASSWORD = None  # `holdwater broker` makes both: the node's name, and what is in NODE.password
TRUST = None  # "trust.der", beside this file: speak TLS, and only with the broker that it vouches for
WIFI = ("trailer", "the Wi-Fi's password")
L_PER_PULSE = 0.1  # the meter's, as its maker says; the bucket test sets it right
