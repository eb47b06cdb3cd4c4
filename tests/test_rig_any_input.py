"""Whatever a file holds, reading it gives a rig that can be described and used, or RigFaults: nothing else."""

import json
from contextlib import suppress
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.rig.describe import describe
from monitor.rig.faults import RigFaults
from monitor.rig.load import fairground, load, parse

LINES = fairground().splitlines()
WORDS = sorted({word for line in LINES for word in line.split("#")[0].replace("=", " ").split()})
UNITS = [
    "gal",
    "L",
    "m3",
    "in",
    "ft",
    "mm",
    "gpm",
    "l/s",
    "s",
    "min",
    "h",
    "psi",
    "°F",
    "°C",
    "mA",
    "/gal",
    "Hz",
    "",
    "x",
]

printable = st.text(st.characters(exclude_categories=["Cs"]), max_size=20).map(lambda text: json.dumps(text))
numbers = st.one_of(
    st.integers().map(str),
    st.floats(allow_nan=True, allow_infinity=True).map(lambda number: str(number).replace("e+", "e")),
    st.sampled_from(["true", "false", "2026-11-25", "12:30:00", "1979-05-27T07:32:00Z", "0xfff", "-0.0"]),
)
amounts = st.tuples(st.floats(-1e3, 1e3) | st.floats(), st.sampled_from(UNITS)).map(
    lambda pair: f'"{pair[0]} {pair[1]}"'
)
quoted = st.sampled_from(WORDS).map(lambda word: json.dumps(word.strip('"')))
scalars = numbers | amounts | quoted | printable
values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]")
        | st.dictionaries(
            st.sampled_from(["kind", "reading", "bore", "height", "length", "ends", "to"]), inner, max_size=3
        ).map(lambda table: "{ " + ", ".join(f"{key} = {value}" for key, value in table.items()) + " }")
    ),
    max_leaves=8,
)


def use(text: str) -> None:
    """Reads a rig, and if it is one, asks of it what the daemon asks."""
    with suppress(RigFaults):
        rig = parse(text, Path("/etc/holdwater/rig.toml"))
        assert describe(rig)
        table = rig.tank.strapping
        assert 0 <= table.volume_l(table.height_m(rig.tank.heel_l)) <= table.capacity_l
        assert rig.tank.heel_l <= rig.tank.band_l[0] < rig.tank.band_l[1] <= rig.tank.full_l <= rig.tank.capacity_l
        assert rig.tank.outline[0][0] < rig.tank.outline[-1][0]
        assert rig.named_feeds
        assert rig.page.host in ("localhost", "::1") or rig.page.host.startswith("127.")


@given(st.text(max_size=300))
def test_any_text(text: str) -> None:
    use(text)


@settings(max_examples=400)
@given(st.lists(st.tuples(st.integers(0, len(LINES) - 1), values | st.none()), min_size=1, max_size=5))
def test_the_example_with_some_of_its_values_changed(changes: list[tuple[int, str | None]]) -> None:
    lines = list(LINES)
    for number, value in changes:
        key, equals, _ = lines[number].partition(" = ")
        lines[number] = f"{key} = {value}" if equals and value is not None else ""
    use("\n".join(lines))


@settings(max_examples=300)
@given(st.lists(st.tuples(st.sampled_from(LINES), st.none() | st.tuples(st.sampled_from(WORDS), values)), max_size=40))
def test_any_mixture_of_its_lines(mixture: list[tuple[str, tuple[str, str] | None]]) -> None:
    use("\n".join(line if pair is None else f"{pair[0]} = {pair[1]}" for line, pair in mixture))


@given(st.binary(max_size=200))
def test_any_bytes(tmp_path_factory: object, data: bytes) -> None:
    file = tmp_path_factory.getbasetemp() / "rig.toml"  # type: ignore[attr-defined]
    file.write_bytes(data)
    with suppress(RigFaults):
        load(file)
