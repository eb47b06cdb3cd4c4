"""The tank as a solid body: its horizontal section at each height, summed up slab by slab."""

from bisect import bisect_right
from collections.abc import Callable, Mapping
from itertools import accumulate, pairwise
from math import pi, sqrt, tanh
from typing import Any

from simulated_feeds.units import BadScenario, amount

_SLABS = 3000
_GRAVITY = 9.81  # m/s²
_ROUND = pi / 1.841 / 2  # 1.841: first zero of J1', so a round tank sloshes as a square one of this share of its width
Section = Callable[[float], float]  # m² of water surface at a height in m


class Tank:
    """Volume in l and height in m of a vented tank, both ways, and how its surface swings.

    `length_m` is the longest side of the surface, along which the water sloshes slowest.
    """

    def __init__(self, section: Section, top_m: float, length_m: float) -> None:
        edges = [top_m * i / _SLABS for i in range(_SLABS + 1)]
        slabs = [_slab_l(section, low, high) for low, high in pairwise(edges)]
        self.top_m = top_m
        self.length_m = length_m
        self._heights = edges
        self._volumes = [0.0, *accumulate(slabs)]
        self.whole_l = self._volumes[-1]

    def height_m(self, volume_l: float) -> float:
        """Height of level water; a volume outside the tank is held at its bottom or top."""
        volumes = self._volumes
        if volume_l <= 0.0:
            return 0.0
        if volume_l >= self.whole_l:
            return self.top_m
        i = bisect_right(volumes, volume_l)
        low = volumes[i - 1]
        bottom = self._heights[i - 1]
        return bottom + (volume_l - low) / (volumes[i] - low) * (self._heights[i] - bottom)

    def volume_l(self, height_m: float) -> float:
        heights = self._heights
        if height_m <= 0.0:
            return 0.0
        if height_m >= self.top_m:
            return self.whole_l
        i = bisect_right(heights, height_m)
        low = heights[i - 1]
        below = self._volumes[i - 1]
        return below + (height_m - low) / (heights[i] - low) * (self._volumes[i] - below)

    def slosh_rad_s(self, height_m: float) -> float:
        """Angular frequency of the slowest standing wave between two walls (linear wave theory)."""
        wave_number = pi / self.length_m
        return sqrt(_GRAVITY * wave_number * tanh(wave_number * max(height_m, 0.02)))


def _slab_l(section: Section, low: float, high: float) -> float:
    """Simpson's rule over one thin slab, in litres."""
    middle = (low + high) / 2
    return (section(low) + 4 * section(middle) + section(high)) * (high - low) / 6 * 1000


def _chord(radius_m: float, height_m: float) -> float:
    """Width of a circle of that radius at a height over its lowest point."""
    reach = radius_m * radius_m - (height_m - radius_m) ** 2
    return 2 * sqrt(reach) if reach > 0 else 0.0


def build_tank(table: Mapping[str, Any]) -> Tank:
    """The tank of a rig file's [tank] table, from its shape or its strapping rows."""
    if "strapping" in table:
        return _strapped([(amount(height), amount(volume)) for height, volume in table["strapping"]])
    shape = table.get("shape", {})
    kind = str(shape.get("kind"))
    if kind not in _BUILDERS:
        raise BadScenario(f'[tank] shape: found kind "{kind}", expected one of {", ".join(_BUILDERS)}')
    words = ("kind", "ends", "bottom", "top")
    sizes = {key: amount(value, f"[tank] shape {key}") for key, value in shape.items() if key not in words}
    if any(shape.get(key, "flat") != "flat" for key in words[1:]):
        raise BadScenario("[tank] shape: found curved ends, expected flat ones, or strapping rows for such a tank")
    try:
        return _BUILDERS[kind](sizes)
    except KeyError as missing:
        raise BadScenario(f"[tank] shape: a {kind} also needs {missing}") from None


def _strapped(rows: list[tuple[float, float]]) -> Tank:
    """Between two rows of a strapping table the section is the same all the way."""
    rows = rows if rows[0][0] <= 0.0 else [(0.0, 0.0), *rows]
    heights = [height for height, _ in rows]
    sections = [(upper - lower) / 1000 / (high - low) for (low, lower), (high, upper) in pairwise(rows)]
    last = len(sections) - 1

    def section(y: float) -> float:
        return sections[min(max(bisect_right(heights, y) - 1, 0), last)]

    return Tank(section, heights[-1], max(sections) ** 0.5)


def _lying_cylinder(size: Mapping[str, float]) -> Tank:
    radius, length = size["diameter"] / 2, size["length"]
    return Tank(lambda y: _chord(radius, y) * length, 2 * radius, max(length, 2 * radius))


def _upright_cylinder(size: Mapping[str, float]) -> Tank:
    radius, height = size["diameter"] / 2, size["height"]
    return Tank(lambda _: pi * radius * radius, height, 2 * radius * _ROUND)


def _upright_ellipse(size: Mapping[str, float]) -> Tank:
    length, width, height = size["length"], size["width"], size["height"]
    return Tank(lambda _: pi / 4 * length * width, height, max(length, width) * _ROUND)


def _upright_obround(size: Mapping[str, float]) -> Tank:
    length, width = max(size["length"], size["width"]), min(size["length"], size["width"])
    plan = (length - width) * width + pi / 4 * width * width
    return Tank(lambda _: plan, size["height"], length)


def _box(size: Mapping[str, float]) -> Tank:
    length, width, height = size["length"], size["width"], size["height"]
    return Tank(lambda _: length * width, height, max(length, width))


def _obround(size: Mapping[str, float]) -> Tank:
    """Two half circles with a straight part between them: lying when wider than high, else standing."""
    width, height, length = size["width"], size["height"], size["length"]
    radius = min(width, height) / 2

    def lying(y: float) -> float:
        return (width - 2 * radius + _chord(radius, y)) * length

    def standing(y: float) -> float:
        straight = height - 2 * radius
        in_arc = y if y < radius else radius if y < radius + straight else y - straight
        return _chord(radius, in_arc) * length

    return Tank(lying if width >= height else standing, height, max(length, width))


def _ellipse(size: Mapping[str, float]) -> Tank:
    width, height, length = size["width"], size["height"], size["length"]
    stretch = width / height
    return Tank(lambda y: stretch * _chord(height / 2, y) * length, height, max(length, width))


_BUILDERS: dict[str, Callable[[Mapping[str, float]], Tank]] = {
    "horizontal cylinder": _lying_cylinder,
    "vertical cylinder": _upright_cylinder,
    "box": _box,
    "obround": _obround,
    "elliptical": _ellipse,
    "upright elliptical": _upright_ellipse,
    "upright obround": _upright_obround,
}
