"""Drills for a new hand: what each asks for, and how kindly it is scored."""
