"""How fast a day replays: ``python tests/benchmarks/replay_speed.py [HOURS]``.

The level at 10 Hz, two pumps with both signals, a meter, every pack with its count. Target: eight hours in under 30 s.
"""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from trailer import record_a_day, rig

from monitor.replay import replay

TARGET_S = 30.0


def main(hours: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path, out = Path(folder) / "day.jsonl", Path(folder) / "out.jsonl"
        record_a_day(path, hours, level_hz=10)
        begun, begun_cpu = time.perf_counter(), time.process_time()
        played = replay(rig(), path, out)
        took_s, cpu_s = time.perf_counter() - begun, time.process_time() - begun_cpu
        size_mb = path.stat().st_size / 1e6
    print(f"{hours} h of feed, {played.lines:,} lines, {size_mb:.0f} MB, {played.forecasts} forecasts")
    print(f"replayed in {took_s:.1f} s ({cpu_s:.1f} s of CPU): {hours * 3600 / took_s:.0f} times real time")
    eight = f"{8 / hours * took_s:.1f} s ({8 / hours * cpu_s:.1f} s of CPU)"
    print(f"target for eight hours: {TARGET_S:.0f} s; at this pace: {eight}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 8)
