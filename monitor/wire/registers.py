"""The registers of a Modbus device into numbers, with no port. 16-bit registers, the high byte first
(MODBUS Application Protocol V1.1b3, section 4.2); how two of them make a number of 32 bits is the maker's choice.
"""

import struct
from collections.abc import Sequence
from typing import Literal, get_args

Form = Literal["u16", "s16", "u32", "s32", "f32"]
FORMS: tuple[Form, ...] = get_args(Form)
_PACKED = {"u16": ">H", "s16": ">h", "u32": ">I", "s32": ">i", "f32": ">f"}


def count(form: Form) -> int:
    """How many registers a number of this form takes."""
    return struct.calcsize(_PACKED[form]) // 2


def number(words: Sequence[int], form: Form, low_word_first: bool = False) -> float:
    """The number in as many registers as its form takes. Raises ValueError for another count of them."""
    if len(words) != count(form):
        raise ValueError(f"{form} takes {count(form)} registers, not {len(words)}")
    ordered = reversed(words) if low_word_first else words
    (found,) = struct.unpack(_PACKED[form], b"".join(word.to_bytes(2, "big") for word in ordered))
    return float(found)
