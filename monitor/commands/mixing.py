"""``mix``: the chemical line, its arithmetic shown in full, and what to look at when no soap comes."""

from collections.abc import Iterator
from pathlib import Path

import click

from monitor.commands.arguments import FILE, loaded
from monitor.planning import chemical
from monitor.quantities import BadQuantity, System, read, write, write_time
from monitor.rig.model import Pump, Rig

CAUTIONS = (
    "The label and the safety data sheet come first; gloves and goggles on, eye-rinse water at hand.",
    "Never mix bleach with acids or ammonia: the gas can kill. Rinse plants before and after.",
    "Where the water runs to is a matter of local discharge rules. Keep chemicals out of drinking water: a backflow "
    "preventer at the tap.",
    "Engine off and pressure released before anything is disconnected.",
)
WALK = {
    "trigger": "Is the trigger held and the engine running? Soap comes only with flow.",
    "line": "Has the line had time to fill? See above for each hose.",
    "tank": "Is there chemical in the tank?",
    "nozzle": "Is the low-pressure nozzle on? The injector draws only past that one.",
    "valve": "Is the injector's valve open, and set to draw?",
    "strainer": "Is the pick-up strainer clean and under the surface? Is its hose tight, with no air?",
    "ball": "Is the injector's check ball stuck? Free it as its maker says, engine off and pressure released.",
    "hose": "Was hose added since? More hose holds the injector back: take it off, or go up in nozzle size.",
}


@click.command()
@click.argument("rig", type=FILE)
@click.option("--drawn", required=True, help='A draw-down: what left the chemical tank, "0.5 gal in 100 s".')
@click.option("--pump", "tested", help="The pump it was measured with; default: the first.")
@click.option("--strength", default=6.0, show_default=True, type=click.FloatRange(0.01, 100), help="Chemical tank, %.")
@click.option("--of", "stock", default=12.5, show_default=True, type=click.FloatRange(0.01, 100), help="As bought, %.")
@click.option("--chemical", default="5 gal", show_default=True, help="How much to mix.")
def mix(rig: Path, drawn: str, tested: str | None, strength: float, stock: float, chemical: str) -> None:
    """Say how strong the mix is where it lands, how to mix the tank, and what to look at when no soap comes."""
    known = loaded(rig)
    try:
        for line in told(known, _draw_down(known, drawn, tested), strength, stock, read(chemical, "volume")):
            click.echo(line)
    except (BadQuantity, ValueError) as error:
        raise click.ClickException(f"{error}.") from None


def told(rig: Rig, seen: chemical.DrawDown, strength: float, stock: float, chemical_l: float) -> Iterator[str]:
    """The chemical line in words, in the owner's units."""
    units = rig.about.units
    injects = write(seen.injects_l_min, "flow", units, 2)
    yield f"The injector draws {injects}: {seen.ratio:.0f} parts of water to one of chemical on that pump."
    yield "It draws nearly the same on every pump, so the one that gives less water gets the stronger mix:"
    for pump in rig.pumps:
        yield f"  {_surface(pump, seen.injects_l_min, strength, units)}"
    yield from _dilution(stock, strength, chemical_l, units)
    lasts = write_time(chemical.lasts_s(chemical_l, seen.injects_l_min))
    yield f"With soap at the gun all the time that lasts {lasts}."
    yield "No soap? Look, in this order:"
    for number, check in enumerate(chemical.no_soap(chemical.Signs(hose_added=True)), 1):
        yield f"  {number}. {WALK[check]}"
    yield from CAUTIONS


def _draw_down(rig: Rig, text: str, tested: str | None) -> chemical.DrawDown:
    volume, _, time = text.partition(" in ")
    drawn_l, time_s = read(volume, "volume"), read(time, "time")
    if drawn_l <= 0.0 or time_s <= 0.0:
        raise ValueError("a draw-down needs a volume and a time, both above 0")
    pump = next((each for each in rig.pumps if tested in (None, each.name)), None)
    if pump is None:
        raise ValueError(f"no pump is called {tested}")
    return chemical.DrawDown(drawn_l, time_s, pump.draw_l_min)


def _surface(pump: Pump, injects_l_min: float, strength: float, units: System) -> str:
    lands = chemical.at_surface(strength, injects_l_min, pump.draw_l_min)
    chemicals, water = write(injects_l_min, "flow", units, 2), write(pump.draw_l_min, "flow", units, 1)
    said = f"{pump.name}: {strength:g} % × {chemicals} / ({chemicals} + {water}) = {lands:.2f} % where it lands"
    if pump.hose is None:
        return said + "."
    return f"{said}; soap at the gun, or a clear line, after {write_time(pump.hose.clear_s(pump.draw_l_min))} of flow."


def _dilution(stock: float, strength: float, chemical_l: float, units: System) -> Iterator[str]:
    said = chemical.dilute(stock, strength, chemical_l)
    whole, strong = write(chemical_l, "volume", units, 1), write(said.strong_l, "volume", units, 1)
    yield (
        f"To mix {whole} of {strength:g} % from {stock:g} %: {strength:g} / {stock:g} × {whole} = {strong} of the "
        f"strong one, and {whole} − {strong} = {write(said.water_l, 'volume', units, 1)} of water. Water first."
    )
