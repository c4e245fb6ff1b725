"""The forecast of a charge as JSON and as text."""

from __future__ import annotations

from datetime import tzinfo
from typing import Any

from desktop.charging.forecast.forecast import Forecast, Span
from desktop.charging.forecast.phrases import limit_phrase, tank_phrase, target_phrase, untold_phrase
from desktop.review.json_values import stamp
from desktop.words import Phrase


def forecast_json(forecast: Forecast | None) -> dict[str, Any] | None:
    """None where nothing can be said."""
    if forecast is None:
        return None
    tank = forecast.tank_empty
    return {
        "at": stamp(forecast.at),
        "limited_by": forecast.limited_by,
        "limits": list(forecast.limits),
        "targets": [{"soc": one.soc, **_span(one.when)} for one in forecast.targets],
        "tank_empty": None if tank is None else _span(tank),
    }


def forecast_text(forecast: Forecast | None, zone: tzinfo) -> list[str]:
    """Lines for people; none where nothing can be said."""
    if forecast is None:
        return []
    told = [
        *(Phrase("{target}.", target=target_phrase(forecast, one, zone)) for one in forecast.targets),
        limit_phrase(forecast),
        untold_phrase(forecast),
        tank_phrase(forecast, zone),
    ]
    return [str(phrase) for phrase in told if phrase]


def _span(span: Span) -> dict[str, str | None]:
    return {
        name: None if instant is None else stamp(instant)
        for name, instant in (("at", span.at), ("low", span.low), ("high", span.high))
    }
