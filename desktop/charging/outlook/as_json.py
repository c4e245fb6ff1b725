"""An outlook as strict JSON values. The keys are public: they may grow, and are not renamed."""

from __future__ import annotations

import math
from typing import Any

from desktop.charging.outlook.outcome import RuleOutcome, Spread
from desktop.charging.outlook.outlook import Outlook
from desktop.charging.outlook.rule import Hours

Object = dict[str, Any]


def outlook_json(found: Outlook) -> Object:
    """The whole outlook. null is what isn't known; days of fuel are null where it outlasts `days`."""
    rules = [_rule(one) for one in found.rules]
    question = found.question
    return {
        "assumptions": {
            one.name: {"value": one.value, "unit": one.unit, "source": one.source}
            for one in found.assumptions
        },
        "days": question.horizon,
        "runs": question.runs,
        "seed": question.seed,
        "fuel_unit": found.plant.generator.curve.unit,
        "quiet_hours": _hours(question.quiet),
        "rules": rules,
        "without_sun": None if found.sunless is None else _rule(found.sunless),
        "best": rules[found.best] | {"rule": found.best, "reason": str(found.reason)},
    }


def _rule(one: RuleOutcome) -> Object:
    return {
        "start_soc": one.rule.start_soc,
        "stop_soc": one.rule.stop_soc,
        "limit_a": one.rule.limit_a,
        "run_hours": _hours(one.rule.run),
        "run_below_soc": one.rule.run_below if one.rule.run is not None else None,
        "hours_per_day": one.hours_per_day.p50,
        "starts_per_day": one.starts_per_day.p50,
        "fuel_per_day": one.fuel_per_day.p50,
        "days_of_fuel": _spread(one.days_of_fuel),
        "unserved_share": one.unserved_share,
        "hours_per_day_range": _spread(one.hours_per_day),
        "starts_per_day_range": _spread(one.starts_per_day),
        "fuel_per_day_range": _spread(one.fuel_per_day),
        "generator_load_share": _number(one.load_share),
        "solar_share": _number(one.solar_share),
        "curtailed_share": _number(one.cut_share),
        "starts_by_hour": [round(float(share), 4) for share in one.starts_by_hour],
    }


def _spread(spread: Spread) -> Object:
    return {"p10": _number(spread.p10), "p50": _number(spread.p50), "p90": _number(spread.p90)}


def _hours(hours: Hours | None) -> Object | None:
    return None if hours is None else {"from": hours.start, "until": hours.until}


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
