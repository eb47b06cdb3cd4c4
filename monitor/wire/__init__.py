"""Bytes in, records or named rejects out. Nothing in here opens, waits or knows the time."""
