"""What each kWh costs in fuel against the load, with the sessions that were run."""

from __future__ import annotations

import math

import numpy as np

from desktop.charging.fuel.curve import BEST_SHARE
from desktop.charging.fuel.state import Fuel
from desktop.picture.charts.chart import Axis, Chart, Curve, Dot, Upright
from desktop.words import Phrase

_LEAST_SHARE = 0.1
_POINTS = 91


def burning_chart(fuel: Fuel) -> Chart | None:
    """Units for each kWh over the load in percent of the rating; None without a curve."""
    curve = fuel.curve
    if curve is None:
        return None
    shares = np.linspace(_LEAST_SHARE, 1.0, _POINTS)
    each = np.array([curve.each_kwh(share * curve.rated_w) for share in shares])
    dots = tuple(
        Dot(Phrase("A session"), "generator", 100 * one.load_share, one.each_kwh, "disc")
        for one in fuel.sessions
        if one is not None and math.isfinite(one.each_kwh) and 0 < one.load_share <= 1.1
    )
    highest = max([float(each[0]), *(dot.y for dot in dots)])
    title = Phrase("{unit} for each kWh", unit=curve.unit)
    return Chart(
        title=title,
        x=Axis.over(
            Phrase("Mean load, as a share of the rating"), 0.0, 110.0 if _beyond(dots) else 100.0, 10.0
        ),
        y=Axis.over(title, 0.0, highest),
        told=Phrase(
            "At a tenth of the rating {low:.2f}, at three quarters {best:.2f} {unit} for each kWh.",
            low=float(each[0]),
            best=curve.best_each_kwh,
            unit=curve.unit,
        ),
        curves=(Curve(Phrase("By the fuel curve"), "fuel", 100 * shares, each, dashed=True),),
        dots=dots,
        uprights=(Upright(Phrase("three quarters"), "muted", 100 * BEST_SHARE, dashed=True),),
    )


def _beyond(dots: tuple[Dot, ...]) -> bool:
    return any(dot.x > 100 for dot in dots)
