"""What readings showed of a step when a person said that it was done, where they didn't show it yet."""

from __future__ import annotations

import math
from collections.abc import Callable

from desktop.charging.usual_times import COOLED_S, WARM_UP_S
from desktop.procedure.situation import Situation
from desktop.procedure.verdict import NOTHING
from desktop.words import Phrase, template


def shown_when_ticked(key: str, ticked: int, now: Situation) -> Phrase:
    """How far it was by the readings then; empty where they showed it, or show nothing of it.

    ticked  when a person ticked it, UTC nanoseconds
    """
    told = _SHOWN.get(key)
    return NOTHING if told is None else told(ticked, now)


def _warm(ticked: int, now: Situation) -> Phrase:
    charge = now.charge
    if charge.started is None or charge.joined or (charge.warm is not None and charge.warm <= ticked):
        return NOTHING
    until = ticked if charge.loaded is None else min(ticked, charge.loaded)
    text = template("The readings showed {lasted:time} of about {usual:time} then.")
    return _short_of(text, (until - charge.started) / 1e9, WARM_UP_S)


def _cool(ticked: int, now: Situation) -> Phrase:
    charge = now.charge
    if charge.relieved is None or not now.metered_terminals:
        return NOTHING
    if charge.stopped is not None and charge.stopped <= ticked:
        # Either end of it lies somewhere between two rows.
        ran_on_s = charge.ran_on_s + 2 * now.plant.interval_s
        return NOTHING if not ran_on_s < COOLED_S else _cooled(charge.ran_on_s)
    return _cooled((ticked - charge.relieved) / 1e9)


def _cooled(ran_on_s: float) -> Phrase:
    text = template("The readings showed {lasted:time} of about {usual:time} without load then.")
    return _short_of(text, ran_on_s, COOLED_S)


def _target(ticked: int, now: Situation) -> Phrase:
    target, soc = now.plant.site.battery.target_soc, now.soc_at(ticked)
    reached = now.charge.full is not None and now.charge.full <= ticked
    if math.isnan(soc) or reached or soc >= target:
        return NOTHING
    return Phrase(
        template("The readings showed the battery at {soc:%} then, target {target:%}."),
        soc=soc,
        target=target,
    )


def _short_of(text: str, lasted_s: float, usual_s: float) -> Phrase:
    return Phrase(text, lasted=max(lasted_s, 0.0), usual=usual_s) if lasted_s < usual_s else NOTHING


_SHOWN: dict[str, Callable[[int, Situation], Phrase]] = {"warm": _warm, "cool": _cool, "target": _target}
