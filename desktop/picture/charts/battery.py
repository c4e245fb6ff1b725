"""The battery's own state of charge, counted anew, beside what its gauge reported."""

from __future__ import annotations

from datetime import tzinfo

import numpy as np

from desktop.charging.battery.facts import OwnSoc
from desktop.picture.charts.chart import Area, Axis, Chart, Curve, extent, seconds_since
from desktop.words import Phrase

_MOST = 1500
"""Minutes that are drawn at most; of more, every so many-th."""

_LEAST_SPAN = 10.0


def soc_chart(own: OwnSoc, zone: tzinfo) -> Chart | None:
    """Both in percent over time, with two standard deviations; None where no anchor reaches."""
    if not np.isfinite(own.soc).any():
        return None
    every = slice(None, None, max(1, -(-len(own.time) // _MOST)))
    time, soc, sd, reported = own.time[every], own.soc[every], own.sd[every], own.reported[every]
    at = seconds_since(int(own.time[0]), time)
    low, high = np.clip(soc - 2 * sd, 0.0, 100.0), np.clip(soc + 2 * sd, 0.0, 100.0)
    ends = extent(low, high, reported) or (0.0, 100.0)
    bottom, top = max(0.0, min(ends[0], ends[1] - _LEAST_SPAN)), min(100.0, ends[1])
    title = Phrase("State of charge, %")
    apart = np.abs(soc - reported)
    told = Phrase(
        "Counted and reported state of charge; at most {apart:%} apart.",
        apart=float(np.nanmax(apart)) if np.isfinite(apart).any() else float("nan"),
    )
    return Chart(
        title=title,
        x=Axis.of_time(int(own.time[0]), int(own.time[-1]), zone),
        y=Axis.over(title, bottom, top),
        told=told,
        curves=(
            Curve(Phrase("Counted"), "battery", at, soc, dashed=True),
            Curve(Phrase("As the gauge says"), "text", at, reported),
        ),
        areas=(Area(Phrase("give or take (95 %)"), "battery", at, low, high),),
    )
