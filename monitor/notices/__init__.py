"""What the daemon tells other programs: over MQTT, and to the system that keeps it running."""
