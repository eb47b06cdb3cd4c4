"""``watch``: the owner's page in a terminal, for the bench and an SSH session."""

import time
from collections.abc import Iterator
from typing import Any

import click

from monitor.commands.asking import address, ask
from monitor.quantities import System, write

CLEAR = "\x1b[H\x1b[J"


@click.command()
@click.argument("where", metavar="RIG|URL", default="http://127.0.0.1:8321")
@click.option("--once", is_flag=True, help="Say it once and end.")
@click.option("--every", default=1.0, show_default=True, type=click.FloatRange(0.2, 60), help="Seconds between looks.")
def watch(where: str, once: bool, every: float) -> None:
    """Watch every signal, node and reject of a running daemon in the terminal: raw, converted, age, noise, verdict."""
    url = address(where)
    while True:
        state, owner = ask(url, "/api/state"), ask(url, "/api/owner")
        lines = list(screen(state, owner, ask(url, "/api/words/en")))
        click.echo(("" if once else CLEAR) + "\n".join(lines))
        if once:
            return
        time.sleep(every)


def screen(state: dict[str, Any], owner: dict[str, Any], words: dict[str, Any]) -> Iterator[str]:
    """The whole screen, line by line."""
    units: System = state["rig"]["units"]
    yield f"{state['rig']['name']}   {_volume(state['forecast'], units)}"
    for alarm in state["alarms"]:
        yield f"! {alarm['alarm']} ({alarm['state']})"
    yield ""
    yield f"{'SIGNAL':24}{'RAW':>16}{'MEANS':>22}{'AGE':>8}{'EVERY':>8}{'NOISE':>10}{'STEP':>10}  VERDICT"
    for signal in owner["signals"]:
        yield _signal(signal, units, words)
    yield ""
    yield f"{'NODE':24}{'STATE':>12}{'PACKS':>8}{'LOST':>6}{'UPTIME':>10}{'REBOOTS':>9}  RADIO, BATTERY"
    for node in owner["nodes"]:
        yield _node(node)
    yield from _feeds(owner)
    yield from _rejects(owner)
    yield f"Too many at once: {state['dropped']} arrivals let go, {state['journal']['dropped']} rows not stored"
    left = [item for item in owner["checklist"] if not item["done"]]
    yield ""
    yield f"To do: {len(left)} of {len(owner['checklist'])}"
    yield from (f"  {words['owner.check.' + item['item']].replace('{of}', item['of'])}" for item in left)


def _volume(forecast: dict[str, Any], units: System) -> str:
    volume_l, sd_l = forecast["volume_l"], forecast["volume_sd_l"]
    if volume_l is None:
        return "no volume yet"
    return f"{write(volume_l, 'volume', units)} in the tank, within {write(2 * sd_l, 'volume', units)}"


def _signal(signal: dict[str, Any], units: System, words: dict[str, Any]) -> str:
    value = signal["value"]
    raw = "-" if value is None else str(value).lower() if isinstance(value, bool) else f"{value:.5g} {signal['unit']}"
    verdict = words.get("owner.why." + (signal["why"] or ""), signal["why"] or "")
    said = signal["quality"] + (f": {verdict}" if verdict else "")
    return (
        f"{signal['name']:24}{raw:>16}{_means(signal['means'], units):>22}{_seconds(signal['age_s']):>8}"
        f"{_seconds(signal['every_s']):>8}{_figure(signal['noise']):>10}{_figure(signal['step']):>10}  {said}"
    )


def _means(means: dict[str, float] | None, units: System) -> str:
    if not means:
        return ""
    if "flow_l_min" in means:
        return write(means["flow_l_min"], "flow", units)
    return f"{write(means['height_m'], 'length', units)}, {write(means['volume_l'], 'volume', units)}"


def _node(node: dict[str, Any]) -> str:
    own = [f"{node[what]['value']:g} {node[what]['unit']}" for what in ("rssi", "battery") if what in node]
    lost = str(node["lost_packs"]) if node["counts"] else "?"
    return (
        f"{node['name']:24}{node['state']:>12}{node['packs']:>8}{lost:>6}{_seconds(node['uptime_s']):>10}"
        f"{node['reboots']:>9}  {', '.join(own)}"
    )


def _feeds(owner: dict[str, Any]) -> Iterator[str]:
    for feed in owner["feeds"]:
        if not feed["ok"]:
            yield f"! {feed['name']}: {feed['why']} {feed['do']}"


def _rejects(owner: dict[str, Any]) -> Iterator[str]:
    rejects, unknown = owner["rejects"], owner["unknown_names"]
    if rejects["total"]:
        yield ""
        yield f"Rejects: {rejects['total']}"
        yield from (f"  {each['kind']}: {each['why']}  {each['raw'][:60]}" for each in rejects["latest"][:5])
    if unknown:
        yield f"Names the rig file does not know: {', '.join(sorted(unknown)[:12])}"


def _seconds(value: float | None) -> str:
    return "-" if value is None else f"{value:.1f} s" if value < 600 else f"{value / 60:.0f} min"


def _figure(value: float | None) -> str:
    return "-" if value is None else f"{value:.2g}"
