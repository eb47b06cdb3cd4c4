"""The rig file: what an owner says about his trailer, read into checked models."""
