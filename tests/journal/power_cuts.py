"""Power cuts without special hardware: record every write of a journal's writer, then forget what was never flushed.

The writer runs under strace, which keeps the bytes of each write, each truncation and each flush, in order, and the
writer's word that so many events are stored. A cut is a place in that record. What a file was told before its last
flush is there for sure, and that a file was removed once its folder was flushed; of the later writes each 512-byte
sector has reached the disk or not, in no order.
"""

import os
import random
import re
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from acknowledging_writer import events
from journal_events import AT, level

from monitor.journal.faults import JournalFault
from monitor.journal.rebuild import rebuild
from monitor.journal.writer import Journal

HERE = Path(__file__).parent
NAME = "cut.db"
FILES = (NAME, NAME + "-wal", NAME + "-journal")
FOLDER = "the folder"
SECTOR = 512
CALLS = "pwrite64,write,ftruncate,fsync,fdatasync,unlink"
WHOM = rb'(?:\d+<([^>]*)>|"([^"]*)")'
WHAT = rb'(?:, (?:"([^"]*)"(?:, (\d+)(?:, (\d+))?)|(\d+)))?'
CALL = re.compile(rb"^(?:\d+ +)?(\w+)\(" + WHOM + WHAT + rb"\) += \d")


class Deed(NamedTuple):
    """One thing that was done to a file; `said` is the count of a writer's acknowledgement."""

    kind: str
    file: str = ""
    offset: int = 0
    data: bytes = b""
    said: int = 0


class Outcome(NamedTuple):
    """After one cut: events acknowledged before it, events found after it, and whether the file is sound."""

    acknowledged: int
    found: int
    sound: bool
    goes_on: bool


def record(folder: Path, commits: int, synchronous: str = "full", pages: int = 30) -> list[Deed]:
    """Everything the writer did to its files."""
    trace = folder / "trace"
    writer = [sys.executable, str(HERE / "acknowledging_writer.py"), str(folder / NAME), str(commits)]
    strace = ["strace", "-f", "-y", "-xx", "-s", "1000000", "-o", str(trace), "-e", f"trace={CALLS}"]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(HERE.parent.parent), str(HERE)])}
    subprocess.run(
        [*strace, *writer, synchronous, str(pages)], check=True, stdout=subprocess.DEVNULL, env=environment
    )
    with trace.open("rb") as lines:
        deeds = [deed for line in lines for deed in understood(line, folder.name)]
    assert deeds[-1].kind == "said", "the trace ends in the writer's last word"
    assert {"write", "flush"} <= {deed.kind for deed in deeds} or synchronous == "off"
    return deeds


def understood(line: bytes, folder: str) -> Iterator[Deed]:
    """What a line of the trace says of the journal's files or the acknowledgements; nothing for all else."""
    match = CALL.match(line)
    if match is None:
        return
    call, descriptor, name, data, length, offset, size = match.groups()
    file = os.path.basename(unescaped(descriptor or name)).decode()
    if call == b"write" and (said := unescaped(data)).startswith(b"ACK "):
        yield Deed("said", said=int(said[4:]))
    elif file == folder and call == b"fsync":
        yield Deed("flush", FOLDER)
    elif file in FILES:
        if call in (b"fsync", b"fdatasync"):
            yield Deed("flush", file)
        elif call == b"pwrite64":
            assert len(unescaped(data)) == int(length)
            yield Deed("write", file, int(offset), unescaped(data))
        elif call == b"unlink":
            yield Deed("gone", file)
        elif call == b"write":
            raise AssertionError("the journal's files are written at a place, never at the end")
        else:
            yield Deed("size", file, int(size or 0))


def unescaped(text: bytes) -> bytes:
    return bytes.fromhex(text.replace(b"\\x", b"").decode())


def cuts(deeds: list[Deed], many: int, chance: random.Random, folder: Path) -> Iterator[Outcome]:
    """So many cuts at random places."""
    files = {name: bytearray() for name in FILES}
    waiting: dict[str, list[Deed]] = {name: [] for name in FILES}
    acknowledged = done = 0
    for place in sorted(chance.randrange(1, len(deeds)) for _ in range(many)):
        for deed in deeds[done:place]:
            if deed.kind == "said":
                acknowledged = deed.said
            elif deed.kind == "flush":
                flush(files, waiting, deed.file)
            else:
                waiting[deed.file].append(deed)
        done = place
        left_behind(files, waiting, chance, folder)
        yield look(folder / NAME, acknowledged)


def flush(files: dict[str, bytearray], waiting: dict[str, list[Deed]], file: str) -> None:
    """What waits for this file is done for sure; a flushed folder tells which files are gone."""
    for name in FILES if file == FOLDER else [file]:
        while waiting[name] and (file != FOLDER or any(deed.kind == "gone" for deed in waiting[name])):
            do(files[name], waiting[name].pop(0))


def left_behind(
    files: dict[str, bytearray], waiting: dict[str, list[Deed]], chance: random.Random, folder: Path
) -> None:
    """Writes the files as the cut left them."""
    keep = chance.choice((0.0, 0.5, 1.0))
    for old in folder.glob(NAME + "*"):
        old.unlink()
    for name, content in files.items():
        image = bytearray(content)
        for late in waiting[name]:
            do(image, late, chance, keep)
        if image:
            (folder / name).write_bytes(image)


def do(image: bytearray, deed: Deed, chance: random.Random | None = None, keep: float = 1.0) -> None:
    """What became of one deed: each sector of it is done with the chance `keep`."""

    def is_done() -> bool:
        return chance is None or chance.random() < keep

    if deed.kind in ("size", "gone"):
        if is_done():
            del image[deed.offset :]
            image.extend(bytes(deed.offset - len(image)))
        return
    start, end = deed.offset, deed.offset + len(deed.data)
    while start < end:
        stop = min(end, start - start % SECTOR + SECTOR)
        if is_done():
            image.extend(bytes(max(0, stop - len(image))))
            image[start:stop] = deed.data[start - deed.offset : stop - deed.offset]
        start = stop


def look(path: Path, acknowledged: int) -> Outcome:
    """What is found after the cut, and whether a new daemon can go on with it."""
    found, sound = 0, True
    if path.exists() and path.stat().st_size:
        found, sound = stored(path)
    journal = Journal(path)
    after = level(AT + 1e6)
    journal.put(after)
    journal.close()
    goes_on = journal.status() == (True, "", "", 0, 0) and list(rebuild(path))[-1] == after
    return Outcome(acknowledged, found, sound, goes_on)


def stored(path: Path) -> tuple[int, bool]:
    """How many events are there, and whether the file is whole and they are the first of those written."""
    try:
        db = sqlite3.connect(path)
        whole = db.execute("pragma integrity_check").fetchall() == [("ok",)]
        begun = db.execute("select 1 from sqlite_master where name = 'readings'").fetchone()
        db.close()
        back = list(rebuild(path)) if begun else []
    except (sqlite3.Error, JournalFault):
        return 0, False
    return len(back), whole and back == list(islice(events(), len(back)))
