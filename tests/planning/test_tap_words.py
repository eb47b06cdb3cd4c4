"""A tap written down in one line."""

import pytest

from monitor.planning.tap_words import read_tap
from monitor.quantities import L_PER_GAL, BadQuantity


@pytest.mark.parametrize(
    ("text", "gpm", "how"),
    [
        ("5 gpm", 5.0, "told"),
        ("0 gpm", 0.0, "told"),
        ("5 gal in 60 s", 5.0, "bucket at the tank"),
        ("5 gal in 58 s, 62 s", 5.0, "bucket at the tank"),
        ("5 gal in 60 s at the tap", 5.0, "bucket at the tap"),
        ("40 psi flowing, 5/8 in, 50 ft", 17.09, "flowing pressure"),  # EPANET 2.2: 17.091 gpm
        ("40 psi static, 5/8 in, 50 ft", 17.09, "static pressure"),
    ],
)
def test_each_form_is_read(text, gpm, how):
    tap = read_tap(text)
    assert tap.l_min / L_PER_GAL == pytest.approx(gpm, rel=0.001)
    assert tap.how == how
    assert tap.upper_bound == (how in ("static pressure", "bucket at the tap"))


@pytest.mark.parametrize(
    "text",
    [
        "", "5", "60 psi", "-1 gpm", "9999 gpm", "5 gal in 0 s", "5 gal in 60", "5 psi in 60 s", "500 gal in 1 s",
        "40 psi flowing, 5/8 in", "40 psi flowing, 0 in, 50 ft", "40 psi flowing, 5/8 in, 0 ft",
        "40 gal static, 1 in, 1 m",
    ],
)  # fmt: skip
def test_what_is_no_tap_is_refused(text):
    with pytest.raises(BadQuantity):
        read_tap(text)
