"""The picture of the evidence against a meter: what doesn't add up as recorded, and with it put right."""

from __future__ import annotations

from datetime import tzinfo

import numpy as np

from desktop.diagnosis.suspects import Evidence
from desktop.picture.charts.chart import Axis, Chart, Curve, extent, seconds_since
from desktop.words import Phrase

_KILO = 1000.0
_LEAST_KW = 0.1


def imbalance_chart(evidence: Evidence, zone: tzinfo) -> Chart | None:
    """Both imbalances in kW over time; None where nothing tells."""
    if len(evidence.time) < 2 or not np.isfinite(evidence.recorded).any():
        return None
    start, stop = int(evidence.time[0]), int(evidence.time[-1])
    at = seconds_since(start, evidence.time)
    recorded, corrected = evidence.recorded / _KILO, evidence.corrected / _KILO
    ends = extent(recorded, corrected, np.array([-_LEAST_KW, _LEAST_KW]))
    low, high = ends or (-_LEAST_KW, _LEAST_KW)
    told = Phrase(
        "As recorded {before:W} don't add up on average, put right {after:W}.",
        before=float(np.nanmean(np.abs(evidence.recorded))),
        after=_mean(evidence.corrected),
    )
    return Chart(
        title=Phrase("Doesn't add up, kW"),
        x=Axis.of_time(start, stop, zone),
        y=Axis.over(Phrase("kW"), low, high),
        told=told,
        curves=(
            Curve(Phrase("As recorded"), "unaccounted", at, recorded),
            Curve(Phrase("Put right"), "load", at, corrected, dashed=True),
        ),
        level=0.0,
    )


def _mean(values: np.ndarray) -> float:
    known = values[np.isfinite(values)]
    return float(np.abs(known).mean()) if known.size else float("nan")
