"""What one more sensor would buy, in order of its worth."""

from collections.abc import Iterator

from monitor.rig.doubts import Said, highest_draw_l_min
from monitor.rig.model import Rig


def gains(rig: Rig) -> list[str]:
    """One sentence for each sensor the rig does without and would gain from, in the owner's units."""
    found = (_meter, _drawing, _running, _slope, _temperatures, _motion)
    return [gain for look in found for gain in look(rig, Said(rig))] or ["nothing that is known of"]


def _meter(rig: Rig, said: Said) -> Iterator[str]:
    if rig.supply is None or rig.supply.reading is None:
        yield (
            "A meter on the inflow ([supply]): inflow and draw are told apart at once, not only by how the level "
            "moves, and supply-lost is raised when the tap fails."
        )


def _drawing(rig: Rig, said: Said) -> Iterator[str]:
    names = [pump.name for pump in rig.pumps if pump.drawing is None]
    if names:
        yield (
            f"A flow switch past the unloader (drawing) on {_listed(names)}: each pump's draw is measured instead of "
            "inferred, a leak shows in minutes, and the balance carries on through a lost level."
        )


def _running(rig: Rig, said: Said) -> Iterator[str]:
    names = [pump.name for pump in rig.pumps if pump.running is None and pump.drawing is None]
    if names:
        yield (
            f"An engine or clutch signal (running) on {_listed(names)}: which pumps may draw is bounded, and a leak "
            "can be looked for while all stand still."
        )


def _slope(rig: Rig, said: Said) -> Iterator[str]:
    if rig.extra.slope is None and len(rig.tank.levels) == 1:
        table, draw_l_min = rig.tank.strapping, highest_draw_l_min(rig)
        inch_l = 0.0254 * table.slope_l_per_m(table.height_m(rig.tank.band_l[0]))
        worth = f", {60 * inch_l / draw_l_min:.0f} s of all pumps" if draw_l_min else ""
        yield (
            f"A slope reading, or a second level sensor at the tank's other end: a trailer that stands askew no longer "
            f"shifts the level. {said(0.0254, 'length')} of error at the band's low mark is "
            f"{said(inch_l, 'volume', 1)}{worth}."
        )


def _temperatures(rig: Rig, said: Said) -> Iterator[str]:
    for level in rig.tank.levels:
        of = level.range.of if level.range else level.measures
        if of == "pressure" and rig.extra.water_temperature is None:
            yield f"A water temperature for {level.reading}: up to a third of a percent of the height."
        if level.assumed_c is not None and rig.extra.air_temperature is None:
            yield f"An air temperature for {level.reading}: 1.7 % of the distance for each 10 °C off."


def _motion(rig: Rig, said: Said) -> Iterator[str]:
    if rig.extra.motion is None and rig.tank.tow_limit_l is not None:
        yield "A motion signal: tow-heavy is raised by the trailer's own moving, not only when somebody packs up."


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
