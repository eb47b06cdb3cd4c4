"""Lines out of a stream of bytes: halves, garble before, in and after a line, lines without end."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.wire.frames import LONGEST, Frames, Garbled, crc16_modbus

GOOD = b'[{"n":"tank/level","u":"m","v":0.612}]'


def results(*blocks: bytes) -> list[bytes | str]:
    frames = Frames()
    return [
        found.kind if isinstance(found, Garbled) else found for block in blocks for found in frames.take(block)
    ]


def checked(line: bytes) -> bytes:
    return line + b"*%04X" % crc16_modbus(line)


def test_the_check_is_the_catalogued_one():
    # CRC catalogue, check value of CRC-16/MODBUS for "123456789"
    assert crc16_modbus(b"123456789") == 0x4B37
    # Modbus Application Protocol V1.1b3 section 6.3, with the line's CRC 76 87, low byte first (serial line V1.02)
    assert crc16_modbus(bytes.fromhex("11 03 00 6B 00 03")) == 0x8776


def test_the_contract_s_own_line_passes_its_check():
    assert results(b"123456789*4B37\n") == [b"123456789"]
    assert results(b"123456789*4b37\r\n") == [b"123456789"]
    assert results(b"123456789*4B38\n") == ["crc"]
    assert results(b"123456789*374B\n") == ["crc"]  # the number, not the order of bytes on a Modbus line


def test_lines_come_out_whole_however_they_come_in():
    stream = GOOD + b"\n" + checked(GOOD) + b"\r\n\r\n\n" + GOOD + b"\r\n"
    assert results(stream) == [GOOD] * 3
    assert results(*(stream[i : i + 1] for i in range(len(stream)))) == [GOOD] * 3


@pytest.mark.parametrize(
    ("stream", "expected"),
    [
        (b"\x00\xffgarble\n" + GOOD + b"\n", [b"\x00\xffgarble", GOOD]),
        (b"garble" + checked(GOOD) + b"\n" + GOOD + b"\n", ["crc", GOOD]),
        (checked(GOOD).replace(b"0.612", b"0.712") + b"\n" + GOOD + b"\n", ["crc", GOOD]),
        (checked(GOOD) + b"garble\n" + GOOD + b"\n", [checked(GOOD) + b"garble", GOOD]),
        (GOOD + b"\ngarble without end", [GOOD]),
        (GOOD[:20], []),
        (GOOD[:20] + b"\n" + GOOD + b"\n", [GOOD[:20], GOOD]),
        (b"\r" + GOOD + b"\n", [b"\r" + GOOD]),
    ],
)
def test_garble_spoils_its_own_line_only(stream, expected):
    assert results(stream) == expected


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_a_line_of_the_full_length_passes_and_one_byte_more_does_not(end):
    full, more = b"x" * LONGEST, b"x" * (LONGEST + 1)
    for whole in (True, False):
        blocks = lambda line: [line] if whole else [line[i : i + 7] for i in range(0, len(line), 7)]  # noqa: E731, B023
        assert results(*blocks(full + end + GOOD + end)) == [full, GOOD]
        assert results(*blocks(more + end + GOOD + end)) == ["too-long", GOOD]


@pytest.mark.parametrize("block", [1, 100, 4096, 2_000_000])
def test_a_line_of_a_megabyte_is_one_reject_and_holds_no_memory(block):
    stream = b"x" * 1_000_000 + b"\n" + GOOD + b"\n" if block > 1 else b"x" * 10_000 + b"\n" + GOOD + b"\n"
    frames = Frames()
    out = []
    for i in range(0, len(stream), block):
        out += frames.take(stream[i : i + block])
        assert len(frames._half) <= LONGEST + 1
    assert [found.kind if isinstance(found, Garbled) else found for found in out] == ["too-long", GOOD]
    assert len(out[0].raw) == LONGEST


def test_a_lost_port_gives_up_its_half_line():
    frames = Frames()
    assert frames.take(GOOD[:10]) == []
    assert frames.reset().kind == "half-line"
    assert frames.reset() is None
    assert frames.take(GOOD + b"\n") == [GOOD]
    frames.take(b"x" * 5000)
    assert frames.reset() is None  # its reject was out already
    assert frames.take(GOOD + b"\n") == [GOOD]


@given(st.lists(st.binary(max_size=1500), max_size=6))
def test_after_any_bytes_the_next_good_line_is_read(blocks):
    frames = Frames()
    for block in blocks:
        for found in frames.take(block):
            assert isinstance(found, Garbled) or (b"\n" not in found and len(found) <= LONGEST)
    assert frames.take(b"\n" + checked(GOOD) + b"\n")[-1] == GOOD


@given(st.binary(max_size=3000), st.lists(st.integers(0, 3000), max_size=5))
def test_where_the_stream_is_cut_makes_no_difference(stream, cuts):
    edges = [0, *sorted(cuts), len(stream)]
    pieces = [stream[a:b] for a, b in zip(edges, edges[1:], strict=False)]  # noqa: RUF007
    assert results(*pieces) == results(stream)
