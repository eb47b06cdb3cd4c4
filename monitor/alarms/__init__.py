"""Alarms: what each one means, its life from raised to put away, all of them together, and how many were too many."""
