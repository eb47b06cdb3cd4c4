"""``calibrate``: a calibration step by step against a running daemon."""

from collections.abc import Iterator
from typing import Any

import click

from monitor.commands.asking import address, ask, tell
from monitor.quantities import BadQuantity, Dimension, System, read, write

STEPS = ("begin", "end", "point", "keep", "drop", "undo")
DIMENSIONS: dict[str, Dimension] = {"fill": "volume", "bucket": "k_factor", "level": "length", "draw": "flow"}


@click.command()
@click.argument("where", metavar="RIG|URL")
@click.argument("what", required=False, type=click.Choice(["fill", "bucket", "level", "draw"]))
@click.argument("step", required=False, type=click.Choice(STEPS))
@click.option("--of", "of", help="The pump (draw) or the level's reading (level).")
@click.option("--known", help='bucket, end: what the bucket held, such as "5 gal".')
@click.option("--seconds", type=float, help="bucket, end: the stopwatch's time.")
@click.option("--start", help='fill, begin: what is in the tank already, such as "0 gal" when it is drained.')
@click.option("--height", help='level, point: the water over the floor, by the tape, such as "12 in".')
def calibrate(
    where: str, what: str | None, step: str | None, of: str | None, known: str | None, seconds: float | None,
    start: str | None, height: str | None,
) -> None:  # fmt: skip
    """Take one STEP of calibrating WHAT, or say how the calibrations stand.

    \b
    bucket   begin, run a known volume through the meter, end --known --seconds; again, three times or more
    fill     begin --start, fill the tank through the meter, end
    level    point --height, at a low and at a high level
    draw     begin --of, tap shut, one pump draws until the level has fallen 4 in, end
    keep     take the result over; drop forgets it; undo takes back the last one kept
    """
    url = address(where)
    if step is not None:
        body = {
            "step": step, "what": what, "of": of, "known_l": _amount(known, "volume"), "seconds": seconds,
            "start_l": _amount(start, "volume"), "height_m": _amount(height, "length"),
        }  # fmt: skip
        tell(url, "/api/owner/calibrate", {key: value for key, value in body.items() if value is not None})
    units = ask(url, "/api/state")["rig"]["units"]
    words = ask(url, "/api/words/en")
    for line in told(ask(url, "/api/owner")["calibration"], words, units):
        click.echo(line)


def _amount(text: str | None, dimension: Dimension) -> float | None:
    try:
        return None if text is None else read(text, dimension)
    except BadQuantity as bad:
        raise click.ClickException(f"found {bad.found}; expected {bad.expected}") from None


def told(calibration: dict[str, Any], words: dict[str, Any], units: System) -> Iterator[str]:
    """How the calibrations stand, line by line."""
    run, result = calibration["run"], calibration["result"]
    if run:
        counted = write(run["counted_l"], "volume", units, 1)
        yield f"running: {_named(run)}, {run['since_s']:.0f} s, {counted} through the meter"
    if result and "refused" in result:
        figures = {key: f"{value:.3g}" for key, value in result["figures"].items()}
        yield f"refused: {_named(result)}: " + words[f"owner.refused.{result['refused']}"].format(**figures)
    elif result:
        yield f"found: {line(result, units)}"
        yield "keep it with `keep`, forget it with `drop`"
    for each in calibration["kept"]:
        yield f"kept: {line(each, units)}" + ("" if each["in_force"] else " (not in force any more)")
    if not (run or result or calibration["kept"]):
        yield "nothing is calibrated yet"


def line(entry: dict[str, Any], units: System) -> str:
    """One calibration: before, after, spread."""
    what, after, before = entry["what"], entry["after"], entry["before"]
    if what == "fill":
        kinks = [write(height, "length", units) for height in entry["figures"]["kinks_m"]]
        bends = f", kinks at {', '.join(kinks)}" if kinks else ""
        widest = write(max(entry["spread"]), "volume", units, 1)
        return f"fill: a strapping table of {len(after)} rows, within {widest}{bends}"
    if what == "bucket":
        spread = 100 * entry["spread"]
        return f"bucket: {before:.5g} becomes {after:.5g}, within {spread:.1f} %"
    if what == "level":
        shift, spread = (write(value, "length", units, 2) for value in (after[1], entry["spread"]))
        return f"{_named(entry)}: scale {after[0]:.4f}, offset {shift}, within {spread}"
    dimension = DIMENSIONS[what]
    was, now, spread = (write(value, dimension, units, 2) for value in (before, after, entry["spread"]))
    return f"{_named(entry)}: {was} becomes {now}, within {spread}"


def _named(entry: dict[str, Any]) -> str:
    return f"{entry['what']} of {entry['of']}" if entry["of"] else str(entry["what"])
