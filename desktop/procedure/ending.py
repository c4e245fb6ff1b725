"""What readings say of the end of a run: relieved, cooled down, stopped."""

from __future__ import annotations

from desktop.charging.stop_kinds import COOL_DOWN_S
from desktop.charging.usual_times import COOLED_S
from desktop.procedure.situation import Situation
from desktop.procedure.verdict import OPEN, UNKNOWN, Verdict, failed
from desktop.words import Phrase, template


def unload(now: Situation) -> Verdict:
    """Without load before it stops."""
    if dropped(now):
        return failed(_STOPPED_UNDER_LOAD)
    if now.charge.relieved is not None:
        return Verdict("done", now.charge.relieved)
    if now.charge.stopped is not None or now.shows("loaded") is None or not now.metered_terminals:
        return UNKNOWN
    return OPEN


def cool(now: Situation) -> Verdict:
    """By a clock that runs while there is no load."""
    charge = now.charge
    if dropped(now):
        return failed(_STOPPED_UNDER_LOAD)
    if charge.cooled is not None:
        return Verdict("done", charge.cooled)
    if not now.metered_terminals:
        return UNKNOWN
    if charge.stopped is not None:
        return _short(now)
    if now.shows("running") is None:
        return UNKNOWN
    if charge.relieved is None or now.progress.time is None:
        return OPEN
    text = template(
        "The readings show {ran_on:time} of about {usual:time} without load (common practice); the maker's time "
        "comes first."
    )
    ran_on_s = (now.progress.time - charge.relieved) / 1e9
    return Verdict("open", told=Phrase(text, ran_on=ran_on_s, usual=COOLED_S))


def stop(now: Situation) -> Verdict:
    """At rest, and its line dead."""
    charge = now.charge
    if not now.metered_terminals:
        return UNKNOWN
    live = now.shows("live")
    if charge.stopped is not None and live is False:
        return Verdict("done", max(charge.stopped, charge.since.get("live", charge.stopped)))
    if charge.stopped is not None and live:
        return Verdict("open", told=Phrase("The line is still live{volts}.", volts=now.volts()))
    return UNKNOWN if now.shows("running") is None or charge.stopped is not None else OPEN


def dropped(now: Situation) -> bool:
    """Whether it came to rest under load, as far as rows are close enough to tell."""
    charge = now.charge
    seen = charge.stopped is not None and charge.loaded is not None and now.metered_terminals
    return seen and charge.ran_on_s <= COOL_DOWN_S and now.plant.interval_s <= COOL_DOWN_S


_STOPPED_UNDER_LOAD = Phrase("The generator stopped under load.")


def _short(now: Situation) -> Verdict:
    ran_on_s = now.charge.ran_on_s
    # Either end of it lies somewhere between two rows.
    if not ran_on_s + 2 * now.plant.interval_s < COOLED_S:
        return UNKNOWN
    text = template(
        "The generator ran on without load for {ran_on:time} only. About {usual:time} are usual (common practice); "
        "the maker's time comes first."
    )
    return failed(Phrase(text, ran_on=ran_on_s, usual=COOLED_S))
