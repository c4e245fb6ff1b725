"""Fuel as JSON and as text."""

from __future__ import annotations

import math
from typing import Any

from desktop.charging.fuel.curve import fuel_unit
from desktop.charging.fuel.phrases import burnt_phrase, curve_phrase, left_phrase, low_load_phrase
from desktop.charging.fuel.runs import Burnt
from desktop.charging.fuel.state import Fuel
from desktop.review.json_values import number
from desktop.site import Site
from desktop.words import Phrase


def fuel_json(burnt: Burnt | None, fuel: Fuel, site: Site) -> dict[str, Any]:
    """The fuel of one session; null is what isn't known."""
    if burnt is None:
        return {"amount": None, "unit": fuel_unit(site), "sd": None}
    return {
        "amount": number(burnt.amount),
        "unit": burnt.unit,
        "sd": number(burnt.sd),
        "per_kwh": number(burnt.each_kwh),
        "efficiency": number(burnt.efficiency),
        "cost": number(burnt.cost),
        "low_load_extra": number(burnt.extra),
        "source": None if fuel.curve is None else fuel.curve.source,
    }


def fuel_text(fuel: Fuel) -> list[str]:
    """Lines for people: what all sessions burnt, what it cost, what is left; none where nothing is known."""
    curve = fuel.curve
    known = [one for one in fuel.sessions if one is not None and math.isfinite(one.amount)]
    if curve is None or not (known or fuel.tank):
        return []
    told = []
    if known:
        total = _total(known)
        told += [burnt_phrase(total), low_load_phrase(total, curve), _cost(total), curve_phrase(curve)]
    if fuel.tank is not None:
        told.append(left_phrase(fuel.tank, curve.unit))
    return [str(phrase) for phrase in told if phrase]


def _total(runs: list[Burnt]) -> Burnt:
    """All runs as one. The curve errs the same way in each of them: their doubts add up in full."""
    amount, wh, hours = (sum(getattr(one, name) for one in runs) for name in ("amount", "wh", "hours"))
    return Burnt(
        amount=amount,
        sd=sum(one.sd for one in runs),
        unit=runs[0].unit,
        wh=wh,
        hours=hours,
        each_kwh=amount / (wh / 1000),
        efficiency=sum(one.efficiency * one.amount for one in runs) / amount,
        cost=sum(one.cost for one in runs),
        load_share=sum(one.load_share * one.hours for one in runs) / hours,
        extra=sum(one.extra for one in runs),
    )


def _cost(total: Burnt) -> Phrase:
    if not total.cost > 0:
        return Phrase("")
    return Phrase("At the sheet's price that is {cost:.2f}.", cost=total.cost)
