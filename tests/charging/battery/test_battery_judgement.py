"""What a recording is too coarse to tell isn't told."""

from __future__ import annotations

import numpy as np
from battery_help import Cell, days, judged, lfp_site, metered, recording

from desktop.review.battery import battery_text


def test_readings_minutes_apart_tell_no_capacity_but_what_the_sheet_gives():
    chance, bank = np.random.default_rng(5), Cell()
    site = lfp_site(capacity_kwh=10.2)
    for seconds, told in ((60.0, "measured"), (300.0, "given")):
        current = days(chance, bank.ah, 5, seconds)
        soc, volts = bank.run(current, seconds, 85.0)
        facts = judged(recording(metered(current, volts, soc), seconds), site)
        assert facts.capacity_wh.origin == told
        assert (facts.lack == "rows too far apart") == (told == "given")
    assert any("too far apart" in line for line in battery_text(facts))
