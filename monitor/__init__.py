"""Holdwater: watches the water on an exterior-cleaning trailer."""

__version__ = "0.1.0"
