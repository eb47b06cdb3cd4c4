"""``plan``: will the water last."""

from collections.abc import Iterator
from math import inf
from pathlib import Path

import click

from monitor.commands.arguments import FILE, learned, loaded
from monitor.planning import hoses
from monitor.planning.day import KINDS, Plan, Range
from monitor.planning.supply import Tap
from monitor.planning.tap_words import FORMS, read_tap
from monitor.quantities import BadQuantity, System, read, write, write_time
from monitor.rig.day_asked import Asked, planned, road, used, water_l
from monitor.rig.model import Pump, Rig

CAUTIONS = (
    "The makers' limits for trailer, hitch and vehicle come first, and the weight on the tongue counts as much as the "
    "weight on the axles.",
    "A part-full tank without baffles surges on the road.",
)
INJECTS = "A hose that bursts injects water through skin, an emergency however small it looks: set that right first."
AT_BEST = "All that follows is at best: the tap gives less than that."
BOUND = "That is only what the flow can't exceed: time a bucket at the tank's end of the hose."


@click.command()
@click.argument("rig", type=FILE)
@click.option("--tap", help=f"The tap: {FORMS}; default: none.")
@click.option("--site", help="A site where this rig has worked: its tap as it was seen there.")
@click.option("--water", help='Water at the start, such as "180 gal"; default: full.')
@click.option("--hours", default=4.0, show_default=True, type=click.FloatRange(0.1, 16), help="Hours of work.")
@click.option("--work", default="mixed", show_default=True, type=click.Choice(list(KINDS)), help="The kind of work.")
@click.option("--pump", "pumps", multiple=True, help="Only this pump; may be given several times.")
def plan(
    rig: Path, tap: str | None, site: str | None, water: str | None, hours: float, work: str, pumps: tuple[str, ...]
) -> None:
    """Say whether the water will last a day's work with RIG, where it breaks, and the least to bring."""
    known = loaded(rig)
    try:
        litres = None if water is None else read(water, "volume")
        supply = read_tap(tap or "0 gpm") if tap or not site else _at_site(known, site)
        asked = Asked(supply, litres, 3600.0 * hours, work, pumps or None)
        said = planned(known, asked)
    except (BadQuantity, ValueError) as error:
        raise click.ClickException(f"{error}.") from None
    for line in told(known, asked, said):
        click.echo(line)


def _at_site(rig: Rig, site: str) -> Tap:
    """Raises ValueError for a site nobody has been to, or where no tap was seen."""
    from monitor.core.basis import site_taps

    taps = site_taps(learned(rig).get("jobs", {}).get("sites", {}))
    if site not in taps:
        raise ValueError(f"no tap was seen at {site}; sites with a tap: {', '.join(taps) or 'none yet'}")
    return taps[site]


def told(rig: Rig, asked: Asked, said: Plan) -> Iterator[str]:
    """The plan in words, in the owner's units."""
    units, pumps = rig.about.units, used(rig, asked)
    names = " and ".join(pump.name for pump in pumps) or "no pump"
    start = _volume(water_l(rig, asked), units)
    yield f"{rig.about.name}: {write_time(asked.work_s)} of {asked.kind} work with {names}, {start} at the start."
    yield f"The tap: {_tap(asked.tap, units)}"
    if asked.tap.upper_bound:
        yield AT_BEST
    yield f"Does it last? {_lasts(said.lasts)}: {round(100 * said.lasts)} days of 100 have no wait for water."
    if said.worked_s.low is not None:
        yield f"The first wait: {_first(said.worked_s)}"
        yield f"Waits: {_counts(said.waits)}; waiting {_spans(said.waiting_s)} in all."
    yield f"Water used: {_volumes(said.used_l, units)}."
    together = " or ".join(" and ".join(some) for some in said.carried[:3])
    yield f"The tap carries together, all day: {together or 'none of them'}."
    yield _bring(said, units)
    yield from _hoses(pumps, units)
    yield from _road(rig, asked, units)


def _tap(tap: Tap, units: System) -> str:
    flow, off = write(tap.l_min, "flow", units), write(tap.sd_l_min, "flow", units)
    return f"{flow}, give or take {off} ({tap.how}). {BOUND if tap.upper_bound else ''}".rstrip()


def _lasts(share: float) -> str:
    sure, likely, hardly = 0.95, 0.6, 0.2
    return "yes" if share >= sure else "likely" if share >= likely else "may be" if share >= hardly else "hardly"


def _first(worked: Range) -> str:
    middle = "on most days none" if worked.middle is None else f"about {_span(worked.middle)} of work in"
    return f"{middle}; nineteen days of twenty work {_span(worked.low or 0.0)} before it."


def _span(seconds: float) -> str:
    step = 60.0 if seconds < 1200.0 else 300.0 if seconds < 7200.0 else 600.0
    return write_time(round(seconds / step) * step)


def _counts(waits: Range) -> str:
    return f"{waits.middle or 0:.0f}, between {waits.low or 0:.0f} and {waits.high or 0:.0f}"


def _spans(waiting: Range) -> str:
    return f"{_span(waiting.middle or 0.0)}, up to {_span(waiting.high or 0.0)}"


def _volume(litres: float, units: System) -> str:
    step = 10.0 * (3.785411784 if units == "us" else 1.0)
    return write(round(litres / step) * step, "volume", units)


def _volumes(used_l: Range, units: System) -> str:
    low, middle, high = (_volume(each or 0.0, units) for each in used_l)
    return f"about {middle}, between {low} and {high}"


def _bring(said: Plan, units: System) -> str:
    if said.bring_l is None:
        return "The least water to bring: no full tank is enough. Fewer pumps at a time, a better tap, or waits."
    return f"The least water to bring: {_volume(said.bring_l, units)}; with that nine days of ten have no wait."


def _hoses(pumps: list[Pump], units: System) -> Iterator[str]:
    for pump in pumps:
        if pump.hose is None or pump.pressure_pa is None:
            continue
        left = hoses.at_gun_pa(pump.pressure_pa, pump.draw_l_min, pump.hose.bore_m, pump.hose.length_m)
        line = f"{pump.name}: of {write(pump.pressure_pa, 'pressure', units, 0)} about "
        line += f"{write(left, 'pressure', units, 0)} reach the gun"
        word = hoses.against_rating(pump.pressure_pa, pump.hose.rated_pa or inf)
        yield f"{line}." if word == "well under" else f"{line}; the pump is set {word} the hose's rating. {INJECTS}"


def _road(rig: Rig, asked: Asked, units: System) -> Iterator[str]:
    litres = water_l(rig, asked)
    said = road(rig, litres)
    yield f"On the road that water weighs {write(said.weighs_kg, 'mass', units)}."
    if said.most_l is not None:
        over = " That is less than you start with." if litres > said.most_l else ""
        yield f"The most to tow with: {_volume(said.most_l, units)}.{over}"
    yield CAUTIONS[0]
    if said.surges:
        yield CAUTIONS[1]
