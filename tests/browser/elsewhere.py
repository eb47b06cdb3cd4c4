"""A tablet on another address than the rig's: a network namespace joined to this one by a cable of two ends.

Where a process may not make one (it takes root), the tablet is on this machine, under an address that is not loopback.
"""

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from monitor.pages.certificate import addresses

CHROMIUM = "/usr/bin/chromium"


class Elsewhere(NamedTuple):
    """`rig` is the address at which the tablet finds the rig; `tablet` is the tablet's own, None where there is none;
    `under` begins a command that is to run on the tablet."""

    rig: str
    tablet: str | None
    under: tuple[str, ...]

    def browser(self, folder: Path, trust: Path) -> Path:
        """A Chromium on the tablet, with a home of its own, into which `trust` was installed as an authority."""
        store = folder / "home/.pki/nssdb"
        store.mkdir(parents=True)
        for words in (["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "rig", "-i", str(trust)]):
            subprocess.run(["certutil", "-d", f"sql:{store}", *words], check=True, capture_output=True)
        start = folder / "chromium"
        start.write_text(
            f'#!/bin/sh\nexec {" ".join(self.under)} env HOME="{folder}/home" {CHROMIUM} "$@"\n', "utf-8"
        )
        start.chmod(0o755)
        return start


@contextmanager
def elsewhere() -> Iterator[Elsewhere]:
    n = os.getpid() % 200 + 20
    space, ours, theirs = f"tablet-{n}", f"hw{n}", f"hw{n}t"
    rig, tablet = f"10.77.{n}.1", f"10.77.{n}.2"
    laid = (
        f"netns add {space}",
        f"link add {ours} type veth peer name {theirs} netns {space}",
        f"addr add {rig}/24 dev {ours}",
        f"link set {ours} up",
        f"-n {space} addr add {tablet}/24 dev {theirs}",
        f"-n {space} link set {theirs} up",
        f"-n {space} link set lo up",
    )
    try:
        if all(_ip(each) for each in laid):
            yield Elsewhere(rig, tablet, ("ip", "netns", "exec", space))
        else:
            here = next((each for each in sorted(addresses("0.0.0.0")) if not each.startswith("127.")), "127.0.0.1")
            yield Elsewhere(here, None, ())
    finally:
        _ip(f"netns del {space}")
        _ip(f"link del {ours}")


def _ip(words: str) -> bool:
    try:
        return subprocess.run(["ip", *words.split()], capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        return False
