"""A number has no more digits than its uncertainty bears."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.report.digits import places, spread, told


@pytest.mark.parametrize(
    ("value", "sd", "shown", "give_or_take"),
    [
        (13.87, 0.31, "13.9", "0.3"),
        (13.85, 0.14, "13.85", "0.14"),
        (0.97, 0.012, "0.97", "0.01"),
        (0.09, 0.001, "0.09", "< 0.01"),
        (412.4, 30.0, "412", "30"),
        (3.0, 0.0, "3.00", "–"),
        (3.0, math.nan, "3.00", "–"),
        (math.nan, 1.0, "not known", "1.0"),
    ],
)
def test_examples(value, sd, shown, give_or_take):
    assert told(value, sd) == shown
    assert spread(sd).replace("\u00a0", " ") == give_or_take


@given(st.floats(0.005, 99.0))
def test_a_standard_deviation_has_two_digits_at_most_after_those_before_the_point(sd):
    digits = f"{sd:.{places(sd)}f}".replace(".", "").lstrip("0")
    assert 1 <= len(digits) <= 2


@given(st.floats(0.05, 99.0))
def test_rounding_hides_little_beside_the_uncertainty(sd):
    assert 10.0 ** -places(sd) <= max(1.0, 0.35 * sd)
