"""A physical world to run the daemon in: it is the world, not the model, and shares no formula with ``monitor``."""

from simulated_feeds.scenario import scenario_names
from simulated_feeds.story import Story, open_scenario
from simulated_feeds.truth import Truth
from simulated_feeds.units import BadScenario

__all__ = ["BadScenario", "Story", "Truth", "open_scenario", "scenario_names"]
