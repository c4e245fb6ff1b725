"""What readings say of the line before the start, of the start, and of the run until load is taken."""

from __future__ import annotations

import math

from desktop.charging.usual_times import WARM_UP_S
from desktop.procedure.by_person import CONNECTING
from desktop.procedure.situation import Situation
from desktop.procedure.verdict import NOTHING, OPEN, UNKNOWN, Verdict, failed, failing
from desktop.words import Phrase, template


def dead(now: Situation) -> Verdict:
    """Dead before it was live. A line that is live while nothing is known to be connected is told as that."""
    charge, live = now.charge, now.shows("live")
    if live and charge.loaded is None and not now.ticks.keys() >= CONNECTING:
        return failing(_live_before_connecting(now))
    if charge.dead is not None and charge.live is not None:
        return Verdict("done", charge.dead, now.clock(template("Dead until {time:clock}."), charge.live))
    if live is None:
        return UNKNOWN
    if not live:
        return Verdict("done", charge.dead) if charge.live is None else UNKNOWN
    if charge.loaded is None:
        return Verdict("can't tell", told=now.live())
    return Verdict(
        "can't tell", told=Phrase("The generator carried load already when the line was first seen.")
    )


def start(now: Situation) -> Verdict:
    """By speed or voltage; where there is no meter of either, load shows it at last."""
    if now.charge.started is not None:
        return Verdict("done", now.charge.started)
    return UNKNOWN if now.shows("running") is None or not now.metered_terminals else OPEN


def warm(now: Situation) -> Verdict:
    """By a clock that runs while there is no load, and by frequency and voltage."""
    charge = now.charge
    if charge.joined:
        return Verdict(
            "can't tell", told=Phrase("The generator carried load already when it was first seen.")
        )
    if charge.hurried:
        return failed(Phrase("The generator took load before frequency and voltage were in their bands."))
    if charge.warm is not None:
        return Verdict("done", charge.warm, _measured(now) if now.shows("running") else NOTHING)
    if charge.loaded is not None:
        return _short(now)
    fits, running = now.shows("in_band"), now.shows("running")
    if running and fits is False:
        return Verdict("not now", told=Phrase("{measured}: out of band.", measured=_measured(now)))
    clock = _clock(now) if running and charge.started is not None else NOTHING
    return Verdict("can't tell" if fits is None else "open", told=clock)


def _live_before_connecting(now: Situation) -> Phrase:
    charge = now.charge
    since = charge.since.get("live")
    if charge.dead is None or since is None:
        return now.live()
    text = template("{live} Dead until {time:clock}.")
    return now.clock(text, since, live=now.live())


def _short(now: Situation) -> Verdict:
    charge = now.charge
    if charge.started is None or charge.loaded is None:
        return UNKNOWN
    ran_s = (charge.loaded - charge.started) / 1e9
    text = template(
        "The generator took load {ran:time} after it started. About {usual:time} are usual (common practice); the "
        "maker's time comes first."
    )
    told = Phrase(text, ran=ran_s, usual=WARM_UP_S)
    return failed(told) if charge.settled is None else Verdict("not seen", told=told)


def _clock(now: Situation) -> Phrase:
    ran_s = (now.time - (now.charge.started or now.time)) / 1e9
    text = template(
        "{measured}. The readings show {ran:time} of about {usual:time} (common practice); the maker's time comes "
        "first."
    )
    return Phrase(text, measured=_measured(now), ran=ran_s, usual=WARM_UP_S)


def _measured(now: Situation) -> Phrase:
    hz, read = now.value("hz"), now.value("volts")
    if math.isnan(hz) or math.isnan(read):
        return Phrase("{volts:V}", volts=read) if math.isnan(hz) else Phrase("{hz:Hz}", hz=hz)
    return Phrase("{hz:Hz}, {volts:V}", hz=hz, volts=read)
