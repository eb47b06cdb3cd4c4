"""The guide followed word for word on a fresh checkout, from no rig file to an adopted table, in real time; timed.

    python -m tests.benchmarks.follow_guide [--tap "12 gpm"]

The trailer is the simulated world, its nodes talk to a real mosquitto, and every command is the guide's own, in its
order, run in a checkout of the last commit with an environment of its own. What the guide leaves to hands (`# fill
it`) is done in the world; what is read off a bucket is taken from its truth. A comment that nobody here knows how to
follow ends it: guide and this stay in step.
"""

import argparse
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from brokers import Mosquitto
from daemons import ADDRESS
from waiting import until

from simulated_feeds.doors import Broker
from simulated_feeds.story import Story, open_scenario

HOME = Path(__file__).parents[2]
GUIDE = (HOME / "firmware_notes" / "guide.md").read_text("utf-8")
GAL_L, IN_M = 3.785411784, 0.0254
# The tank is not quite what the owner believes, and the meter reads 4 % high.
BELIEVED, REALLY = 'diameter = "42 in", length = "54 in"', 'diameter = "41.4 in", length = "56 in"'
WORLD = """title = "An afternoon"
rig = "really"
begins = "13:00"
hours = 6
seed = 5

[water]
start = "20 gal"

[tap]
flow = "{tap}"

[crew]
day = [["work", "6 h"]]

[sensor."inlet/total"]
gain = 1.04

[sensor."tank/level"]
noise = "4 mm"

[expect]
may = []
"""


class Trailer(threading.Thread):
    """The world in real time; hands are put in between two of its steps."""

    def __init__(self, story: Story, door: Broker) -> None:
        super().__init__(daemon=True)
        self.story, self.door, self.lock = story, door, threading.Lock()
        self.begun, self.stopped = threading.Event(), threading.Event()

    def run(self) -> None:
        while not self.stopped.wait(0.05):
            with self.lock:
                for event in self.story.advance(time.time()):
                    self.door.put(event)
            self.begun.set()

    def hand(self, what: str, **how: object) -> None:
        with self.lock:
            self.story.hand(what, **how)

    def truth(self):
        with self.lock:
            return self.story.truth(time.time(), 0.0)

    def volume_l(self) -> float:
        return self.truth().volume_l


class Owner:
    """Does what the guide says. `shell` runs a command of it and gives back what it said."""

    def __init__(self, trailer: Trailer, shell: Callable[[str], str], broker: Mosquitto) -> None:
        self.trailer, self.shell, self.broker = trailer, shell, broker
        self.known, self.seconds = "", 0.0
        self.hands = {
            "run water through the meter into the bucket up to its mark, shut the tap": self.bucket,
            "three times or more, then:": self.twice_more,
            "fill it; half an hour or so": self.fill,
            "hold the trigger open until the level has fallen some 4 in": self.draw,
        }

    def follow(self, line: str) -> None:
        if line.startswith("#"):
            self.hands[line[1:].strip()]()
        elif " level " in line:
            print(f"(not on this rig, it has a meter: {line})", flush=True)
        elif " fill begin" in line:
            self.drain()
            self.shell(line)
        elif " bucket end" in line:
            self.shell(line.replace('"5 gal"', self.known).replace("44", f"{self.seconds:.1f}"))
        else:
            self.shell(line)

    def bucket(self) -> None:
        before_l, began_s = self.trailer.volume_l(), time.monotonic()
        self.trailer.hand("tap", open=True)
        until(lambda: self.trailer.volume_l() - before_l > 5 * GAL_L, 120)
        self.trailer.hand("tap", open=False)
        self.seconds = time.monotonic() - began_s
        until(lambda: self.trailer.truth().inflow_l_min < 0.1, 10)
        self.known = f'"{(self.trailer.volume_l() - before_l) / GAL_L:.3f} gal"'
        self.settle()

    def twice_more(self) -> None:
        for _ in range(2):
            self.follow("holdwater calibrate rig.toml bucket begin")
            self.bucket()
            self.follow('holdwater calibrate rig.toml bucket end --known "5 gal" --seconds 44')

    def drain(self) -> None:
        self.trailer.hand("leak", flow_l_min=300.0)
        until(lambda: self.trailer.volume_l() < 0.5, 120)
        self.trailer.hand("leak", flow_l_min=0.0)
        self.settle()

    def fill(self) -> None:
        self.trailer.hand("tap", open=True)
        until(lambda: self.trailer.volume_l() > 308 * GAL_L, 3600)
        self.trailer.hand("tap", open=False)
        self.settle()

    def draw(self) -> None:
        from_m = self.trailer.truth().height_m
        self.trailer.hand("trigger", pump="Rides", on=True)
        until(lambda: from_m - self.trailer.truth().height_m > 4.1 * IN_M, 1800)

    def settle(self) -> None:
        """What nodes have sent is heard, and the water lies still."""
        at_s = time.monotonic() + 5.0
        until(lambda: time.monotonic() > at_s)


def lines_of(section: str) -> list[str]:
    """The commands and hands of a section of the guide, in order."""
    text = GUIDE.partition(f"\n## {section}\n")[2].partition("\n## ")[0]
    found = re.findall(r"^    (\S.*)$", text, re.MULTILINE)
    return [line if line.startswith("#") else line.partition("  #")[0].strip() for line in found]


def shell_in(checkout: Path) -> Callable[[str], str]:
    def shell(line: str) -> str:
        print(f"$ {line}", flush=True)
        done = subprocess.run(
            ["bash", "-c", f". .venv/bin/activate && {line}"], cwd=checkout, capture_output=True, text=True,
            input="y\n", check=False,
        )  # fmt: skip
        print(done.stdout + done.stderr, flush=True)
        assert done.returncode == 0, line
        return done.stdout

    return shell


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--tap", default="12 gpm")
    tap, folder, began_s = asked.parse_args().tap, Path(tempfile.mkdtemp(prefix="guide-")), time.monotonic()
    steps: list[tuple[str, float]] = []

    def passed(what: str) -> None:
        steps.append((what, time.monotonic() - began_s))

    checkout = folder / "holdwater"
    subprocess.run(["git", "clone", "--quiet", HOME, checkout], check=True)
    for line in lines_of("The program"):
        print(f"$ {line}", flush=True)
        subprocess.run(["bash", "-c", line], cwd=checkout, check=True, stdout=subprocess.DEVNULL)
    passed("checkout and set-up")
    broker = Mosquitto(folder)
    text = re.findall(r"<!-- run: rig -->\n```toml\n(.*?)```", GUIDE, re.DOTALL)[0]
    assert BELIEVED in text
    (folder / "really.toml").write_text(text.replace(BELIEVED, REALLY), "utf-8")
    (folder / "world.toml").write_text(WORLD.format(tap=tap), "utf-8")
    rig = checkout / "rig.toml"
    assert not rig.exists()
    rig.write_text(text.replace("mqtt://127.0.0.1:1883", broker.url), "utf-8")
    shell = shell_in(checkout)
    check, run = lines_of("The rig file")
    shell(check)
    print(f"$ {run}", flush=True)
    said = folder / "said"
    with said.open("w") as out:
        command = ["bash", "-c", f". .venv/bin/activate && exec {run}"]
        daemon = subprocess.Popen(command, cwd=checkout, stdout=out, stderr=out)
    trailer = Trailer(open_scenario(folder / "world.toml", start_at=time.time()), Broker(broker.url))
    try:
        until(lambda: ADDRESS.search(said.read_text("utf-8")), 60)
        trailer.start()
        trailer.begun.wait()
        trailer.hand("trigger", pump="Rides", on=False)
        trailer.hand("tap", open=False)
        owner = Owner(trailer, shell, broker)
        owner.settle()
        shell("holdwater watch rig.toml --once")
        passed("rig file, signals heard")
        for line in lines_of("Calibrate"):
            if line.endswith("bucket keep"):
                passed("bucket test")
            owner.follow(line)
            if line.endswith("fill keep"):
                passed("fill and strap")
            if line.endswith("draw keep"):
                passed("draw test")
                trailer.hand("trigger", pump="Rides", on=False)
        passed("adopted")
        owner.settle()
        tell(trailer, shell("holdwater watch rig.toml --once"), steps)
        shell("holdwater check rig.toml")
    finally:
        trailer.stopped.set()
        daemon.terminate()
        daemon.wait()
        broker.kill()


def tell(trailer: Trailer, watched: str, steps: list[tuple[str, float]]) -> None:
    true_l = trailer.volume_l()
    believed = re.search(r"([\d.]+) gal in the tank", watched)
    assert believed
    print(f"true: {true_l / GAL_L:.1f} gal, believed: {believed[1]} gal")
    for what, at_s in steps:
        print(f"{at_s / 60:6.1f} min  {what}")


if __name__ == "__main__":
    main()
