"""The guide's calibration followed by its own commands on a simulated rig: bucket, fill and strap, draw test; timed.

    PYTHONPATH=. python tests/benchmarks/follow_guide.py

Taps and triggers are worked through the bench, as hands would; what a person reads off a bucket or a sight tube is
taken from the simulated truth. It prints each command with its answer, what is true at the end and what is believed.
"""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from daemons import Holdwater, command, holdwater
from waiting import until

SCENARIO = """title = "The owner calibrates"
rig = "fairground"
begins = "09:30"
hours = 6
seed = 5

[water]
start = "12 gal"

[tap]
flow = "7 gpm"

[crew]
day = [["work", "6 h"]]

[expect]
may = []
"""
FULL_L = 990.0


class Owner:
    def __init__(self, daemon: Holdwater) -> None:
        self.daemon = daemon

    def told(self, path: str, **body: object) -> None:
        answer = self.daemon.http.post(f"/api/bench/{path}", json=body)
        assert answer.status_code == 204, answer.text

    def truth(self) -> dict:
        return self.daemon.http.get("/api/bench").json()["now"]["truth"]

    def calibrate(self, *words: str) -> None:
        said = command("calibrate", self.daemon.url, *words)
        print("$ holdwater calibrate", *words, "\n" + said.stdout + said.stderr)

    def tap(self, on: bool) -> None:
        self.told("hand", what="tap", open=on)
        if not on:
            until(lambda: self.truth()["inflow_l_min"] < 0.1)

    def bucket(self) -> None:
        before_l = self.truth()["volume_l"]
        self.calibrate("bucket", "begin")
        self.tap(True)
        until(lambda: self.truth()["volume_l"] - before_l > 18.0, 60)
        self.tap(False)
        shut_at = self.truth()["at"]
        until(lambda: self.truth()["at"] > shut_at + 6.0, 30)
        self.calibrate("bucket", "end", "--known", f"{self.truth()['volume_l'] - before_l:.2f} L")

    def fill(self) -> None:
        self.calibrate("fill", "begin", "--start", f"{self.truth()['volume_l']:.1f} L")
        self.tap(True)
        self.told("speed", speed=300)
        until(lambda: self.truth()["volume_l"] > FULL_L, 120)
        self.told("speed", speed=60)
        self.tap(False)
        self.calibrate("fill", "end")

    def draw(self, pump: str) -> None:
        self.calibrate("draw", "begin", "--of", pump)
        before_l = self.truth()["volume_l"]
        self.told("hand", what="trigger", pump=pump, on=True)
        until(lambda: before_l - self.truth()["volume_l"] > 160.0, 60)
        self.calibrate("draw", "end")


def main() -> None:
    folder, began_s = Path(tempfile.mkdtemp()), time.monotonic()
    scenario = folder / "retrofit.toml"
    scenario.write_text(SCENARIO, "utf-8")
    with holdwater(folder / "daemon", "demo", scenario, "--speed", "60", "--listen", "127.0.0.1:0") as daemon:
        until(daemon.volume_l)
        owner = Owner(daemon)
        for pump in ("Rides", "Stalls", "Stands"):
            owner.told("hand", what="trigger", pump=pump, on=False)
        owner.tap(False)
        at = owner.truth()["at"]
        owner.told("speed", speed=10)
        for _ in range(3):
            owner.bucket()
        owner.calibrate("bucket", "keep")
        owner.fill()
        owner.calibrate("fill", "keep")
        owner.draw("Rides")
        owner.calibrate("draw", "keep")
        truth = owner.truth()
        minutes = (truth["at"] - at) / 60
        print(f"{minutes:.0f} min on the trailer, {time.monotonic() - began_s:.0f} s here")
        print(f"true: {truth['volume_l']:.1f} l, believed: {daemon.volume_l():.1f} l, Rides {truth['draw_l_min']}")


if __name__ == "__main__":
    main()
