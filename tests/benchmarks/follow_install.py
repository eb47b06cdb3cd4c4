"""The way from a fresh Debian to a running service, word for word in a bare tree, up to where systemd is needed.

    sudo mmdebstrap --variant=minbase --include=sudo,ca-certificates,systemd,udev bookworm TREE
    sudo PYTHONPATH=. python -m tests.benchmarks.follow_install TREE

Every line of `firmware_notes/install.md` is run by chroot in the tree, and what `broker` and `service` print as well.
What only a running systemd, udev or NetworkManager can do is named and left out; in the place of `systemctl start` the
unit's own command is run by its own user. The tree is changed: use one that can be thrown away.
"""

import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

HOME = Path(__file__).parents[2]
NOTES = HOME / "firmware_notes"
INSTALL, GUIDE = ((NOTES / name).read_text("utf-8") for name in ("install.md", "guide.md"))
NEEDS_MORE = re.compile(r"systemctl|udevadm|nmcli")
RIG = "/etc/holdwater/rig.toml"
RUN = "sudo -u holdwater /opt/holdwater/bin/holdwater run " + RIG
FOLDERS = "install -d -o mosquitto /run/mosquitto /var/log/mosquitto"
"""As mosquitto's own unit makes them."""
BROKER = f"bash -c '{FOLDERS}; exec mosquitto -c /etc/mosquitto/mosquitto.conf'"


class Tree:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.left_out: list[str] = []
        self.done = 0

    def run(self, line: str, may_fail: bool = False) -> str:
        """One line, or the part of it that needs no running system."""
        parts = [part for part in line.split(" && ") if not NEEDS_MORE.search(part)]
        self.left_out += [part for part in line.split(" && ") if NEEDS_MORE.search(part)]
        if not parts:
            return ""
        print(f"# {' && '.join(parts)}", flush=True)
        ran = subprocess.run(
            ["chroot", self.folder, "bash", "-c", "cd /root && " + " && ".join(parts)], capture_output=True, text=True,
            check=False,
        )  # fmt: skip
        print("".join(f"    {each}\n" for each in (ran.stdout + ran.stderr).splitlines()[-12:]), end="", flush=True)
        assert may_fail or ran.returncode == 0, f"it ended with {ran.returncode}"
        self.done += 1
        return ran.stdout

    @contextmanager
    def running(self, line: str) -> Iterator[subprocess.Popen[bytes]]:
        print(f"# {line} &", flush=True)
        process = subprocess.Popen(["chroot", self.folder, "bash", "-c", f"exec {line}"], stdin=subprocess.DEVNULL)
        try:
            yield process
        finally:
            process.terminate()
            process.wait()


@contextmanager
def mounted(folder: Path) -> Iterator[None]:
    """What a booted machine has and a bare tree lacks: devices, processes, name servers, its own name."""
    for file in ("etc/resolv.conf", "etc/hosts", "etc/ssl/certs/ca-certificates.crt"):
        shutil.copy(Path("/") / file, folder / file)
    mounts = (["--types", "proc", "proc", folder / "proc"], ["--rbind", "/dev", folder / "dev"])
    for mount in mounts:
        subprocess.run(["mount", *mount], check=True)
    try:
        yield
    finally:
        for mount in mounts:
            subprocess.run(["umount", "--recursive", "--lazy", mount[-1]], check=False)


def section(number: int) -> list[str]:
    text = INSTALL.partition(f"\n## {number}. ")[2].partition("\n## ")[0]
    return re.findall(r"^    (\S.*)$", text, re.MULTILINE)


def rig_file() -> str:
    first = re.findall(r"<!-- run: rig -->\n```toml\n(.*?)```", GUIDE, re.DOTALL)[0]
    return first + "\n" + re.findall(r"<!-- more: rig -->\n```toml\n(.*?)```", INSTALL, re.DOTALL)[0]


def follow(tree: Tree, wheel: Path) -> None:
    (tree.folder / "root" / wheel.name).write_bytes(wheel.read_bytes())
    for line in section(1):
        tree.run(line)
    rig = tree.folder / RIG[1:]
    rig.write_text(rig_file(), "utf-8")
    for line in section(2):
        tree.run(line)
    broker, hand_over = section(3)
    told = tree.run(broker)
    tree.run(hand_over)
    for line in re.findall(r"^sudo .*", told, re.MULTILINE):
        tree.run(line)
    feed = re.findall(r"^In the rig file: (.*)", told, re.MULTILINE)[0].replace(", username", "\nusername")
    feed = re.sub(r", (password_file|ca) =", r"\n\1 =", feed)
    rig.write_text(rig.read_text("utf-8").replace('mqtt = "mqtt://127.0.0.1:1883"', feed), "utf-8")
    for line in section(2):
        tree.run(line)
    service, *asks = section(4)
    for line in re.findall(r"^sudo .*", tree.run(service), re.MULTILINE):
        tree.run(line)
    with tree.running(BROKER), tree.running(RUN):
        within_s = time.monotonic() + 60.0
        while "mqtt 1: ok" not in tree.run(asks[0], may_fail=True):
            assert time.monotonic() < within_s, "the broker is not reached"
        for line in [*asks[1:], *section(5)[:2]]:
            tree.run(line)
    for line in section(8):
        tree.run(line)
    with tree.running(BROKER), tree.running(RUN):
        within_s = time.monotonic() + 60.0
        while "journal: ok" not in tree.run(asks[0], may_fail=True):
            assert time.monotonic() < within_s, "the version before does not run"


def main() -> None:
    tree = Tree(Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as folder, mounted(tree.folder):
        building = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", folder, str(HOME)]
        subprocess.run(building, check=True)
        follow(tree, next(Path(folder).glob("*.whl")))
    unit = tree.folder / "etc/systemd/system/holdwater.service"
    verified = subprocess.run(
        ["systemd-analyze", f"--root={tree.folder}", "verify", "holdwater.service"], capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    print(f"systemd-analyze verify: {verified.returncode} {verified.stderr.strip()}")
    judged = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", unit], capture_output=True, text=True, check=False
    )
    print(judged.stdout.strip().splitlines()[-1])
    print(f"{tree.done} lines followed; left to a running system: {'; '.join(dict.fromkeys(tree.left_out))}")


if __name__ == "__main__":
    main()
