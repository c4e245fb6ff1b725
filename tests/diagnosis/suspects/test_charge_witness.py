"""A battery that gets fuller was charged, whatever its meter says; how large it is needn't be known."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from desktop.review import Review, review
from desktop.site import Site
from recordings.recording import Recording
from recordings.tables import read_table

DEMOS = Path(__file__).parents[3] / "recordings" / "demo"
FEW = ("generator_power", "load_power", "battery_power", "battery_soc")


@cache
def reviewed(name: str) -> Review:
    """A demo of which only generator, house, battery and gauge are left, without its sheet."""
    whole = read_table(DEMOS / f"{name}.csv")
    columns = {channel: np.array(whole.column(channel), float) for channel in FEW}
    return review(Recording.from_columns(whole.time.copy(), columns), Site())


def test_two_exchanged_meters_are_not_named_where_the_gauge_shows_that_the_battery_s_is_reversed():
    (suspect,) = reviewed("reversed-battery-meter").suspects
    assert suspect.channel == "battery_power"
    assert suspect.fault == "reversed" or suspect.parameter < 0


@pytest.mark.parametrize("name", ["healthy-charge", "load-step", "two-overcast-days", "lead-acid-absorption"])
def test_honest_meters_stay_unsuspected(name):
    assert [one.channel for one in reviewed(name).suspects if "battery" in one.channel] == []
