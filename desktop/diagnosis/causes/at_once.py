"""Why the generator was asked for more than it should give."""

from __future__ import annotations

import numpy as np

from desktop.diagnosis.alarm import Event
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.watch import lasted_s
from desktop.words import Phrase

_LOOK_S = 15.0
_LEAST_STEP_W = 300.0
_LEAST_STEP_SHARE = 0.05


def load_step(rows: Rows, event: Event) -> dict[str, float]:
    """The step of the house load that came before an event: `step_w`, and how long before it, `step_before_s`.

    The load meter may read a moment later than the generator's, so rows up to the one that raised are seen.
    """
    reach = round(max(_LOOK_S, 2 * rows.plant.interval_s) * 1e9)
    late = round(max(3.0, 1.5 * rows.plant.interval_s) * 1e9)
    time, load = rows.before("load", event.start - reach, min(event.raised, event.start + late))
    if len(load) < 2:
        return {}
    row = int(np.argmax(np.diff(load))) + 1
    step = float(np.median(load[row:]) - load[row - 1])
    limit = event.at_start.get("limit_w", np.nan)
    if step < _LEAST_STEP_W or step < _LEAST_STEP_SHARE * limit:
        return {}
    return {"step_w": step, "step_before_s": max(0.0, (event.start - int(time[row])) / 1e9)}


def overshoot(event: Event) -> Phrase:
    """What pushed the generator over, in words; empty where the rows don't show it."""
    step, before = event.at_start.get("step_w"), event.at_start.get("step_before_s", 0.0)
    limit, load = event.at_peak.get("limit_w", np.nan), event.at_peak.get("load", np.nan)
    if load > limit:
        return Phrase(
            "The house alone took {load:W}, more than the {limit:W} there are.", load=load, limit=limit
        )
    if step is None:
        return Phrase("")
    when = Phrase("{time:time} before", time=before) if before >= 0.5 else Phrase("at that moment")
    shed = event.at_start.get("charger", np.nan) - event.at_end.get("charger", np.nan)
    goes_on = event.at_end.get("generator", 0.0) > 0.5 * event.at_start.get("generator", np.inf)
    if goes_on and shed > 0.3 * step:
        return Phrase(
            "A house load step of {step:W} came {when}; the charger took {back:time} to give way.",
            step=step,
            when=when,
            back=lasted_s(event) + before,
        )
    return Phrase("A house load step of {step:W} came {when}.", step=step, when=when)
