"""What the readings show at an instant, in a line."""

from __future__ import annotations

import math

from desktop.procedure.situation import Situation
from desktop.review.moment import Moment
from desktop.review.sentence import LEAST_W, joined
from desktop.words import Phrase

_NOTHING = Phrase("")


def shown_now(moment: Moment, now: Situation) -> Phrase:
    """`The line is live: 230 V. 50.5 Hz. The generator gives 3.40 kW. Battery at 54 %.`"""
    if moment.stale:
        return Phrase("There are no readings for this time.")
    hz, soc = moment.generator.frequency, moment.battery.soc
    power = moment.streams["generator"].value
    return joined(
        _line(now),
        Phrase("{hz:Hz}.", hz=hz) if now.shows("running") and not math.isnan(hz) else _NOTHING,
        Phrase("The generator gives {power:W}.", power=power) if power >= LEAST_W else _NOTHING,
        _NOTHING if math.isnan(soc) else Phrase("Battery at {soc:%}.", soc=soc),
    )


def _line(now: Situation) -> Phrase:
    live = now.shows("live")
    if live is None:
        return Phrase("No reading tells whether the line is live.")
    return now.live() if live else Phrase("The meter reads no voltage on the line.")
