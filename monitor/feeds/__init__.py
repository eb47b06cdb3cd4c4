"""Where readings come from: serial ports, an MQTT broker, the simulated world, a recording. Threads live here."""
