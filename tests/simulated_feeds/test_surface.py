"""The surface swings at the frequency of its tank, dies away, and is kicked by triggers and by the road."""

from itertools import pairwise
from math import pi
from random import Random

import pytest

from simulated_feeds import open_scenario
from simulated_feeds.surface import Surface, Swing


def test_a_swing_crosses_its_rest_twice_in_a_period_and_decays() -> None:
    swing = Swing(0.0, 0.02, 0.0, 2 * pi * 0.6, 0.05)
    heights = [swing.height_m(i / 100) for i in range(3000)]
    crossings = sum(a * b < 0 for a, b in pairwise(heights))
    assert crossings == pytest.approx(2 * 0.6 * 30, abs=1)
    assert max(map(abs, heights[2800:])) < 0.3 * max(map(abs, heights[:200]))


def test_one_swing_goes_on_in_the_next_segment() -> None:
    story = open_scenario("fairground")
    story.world.run_to(900)
    quiet = [segment._replace(trigger=(False,) * 3) for segment in story.world.segments]
    surface = Surface(story.world.tank, Random(1))
    surface.swing = Swing(0.0, 0.02, 0.0, 4.0, 0.08)
    before, after = surface.follow(quiet[0]), surface.follow(quiet[1])
    at_s = quiet[1].start_s
    assert after.height_m(at_s) == pytest.approx(before.height_m(at_s), abs=1e-12)


def test_the_road_shakes_more_than_a_trigger() -> None:
    story = open_scenario("heavy-tow")
    story.advance(story.start_at + 45 * 60)
    both = list(zip(story.swings, story.world.segments, strict=True))
    on_road = [abs(swing.across_m) for swing, segment in both if segment.moving]
    parked = [abs(swing.across_m) for swing, segment in both if segment.end_s < 600]
    assert max(on_road) > 0.02
    assert max(parked) < 0.001
