"""The command line: ``holdwater``."""

import logging
import sys

import click

from monitor import __version__
from monitor.commands.adopting import adopt
from monitor.commands.calibrating import calibrate
from monitor.commands.cutting import cutting
from monitor.commands.health import healthcheck
from monitor.commands.horning import horn
from monitor.commands.installing import broker, service
from monitor.commands.journal import journal
from monitor.commands.mixing import mix
from monitor.commands.pairing import devices, pair
from monitor.commands.planning import plan
from monitor.commands.practising import practice
from monitor.commands.replaying import check, replay
from monitor.commands.signals import watch
from monitor.commands.watching import demo, run
from monitor.sparing import Sparing

COMMANDS = (
    run, demo, check, replay, journal, cutting, calibrate, adopt, watch, plan, mix, practice,
    pair, devices, healthcheck, horn, service, broker,
)  # fmt: skip


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="holdwater")
def main() -> None:
    """Watches the water on an exterior-cleaning trailer. It advises; it is no safety device."""
    said = logging.StreamHandler(sys.stderr)
    said.addFilter(Sparing())
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(message)s", handlers=[said])


for command in COMMANDS:
    main.add_command(command)
