"""A physical world to run the daemon in: it is the world, not the model, and shares no formula with ``monitor``."""
