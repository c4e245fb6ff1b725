"""The comparison as strict JSON values. Its keys are public: they may grow, and are not renamed."""

from __future__ import annotations

import math
from typing import Any

from desktop.comparison.comparison import Comparison, Row
from desktop.comparison.days import load_sd, recorded_load_sd
from desktop.comparison.estimate import Estimate
from desktop.comparison.findings import FindingChange
from desktop.comparison.settings import SettingChange
from desktop.comparison.side import Side
from desktop.diagnosis.finding import SEVERITY_OF
from desktop.review.json_values import Object, kilo, number, stamp


def comparison_json(found: Comparison) -> Object:
    """The whole comparison; null is what isn't known."""
    low, high = (number(each) for each in found.soc_range)
    return {
        "a": _side(found.a),
        "b": _side(found.b),
        "same_meters": found.same_meters,
        "soc_range": None if low is None or high is None else {"low": low, "high": high},
        "quantities": {row.key: _row(row) for row in found.rows},
        "findings": [_finding(one) for one in found.findings],
        "settings": [_setting(one) for one in found.settings],
    }


def _side(side: Side) -> Object:
    time = side.review.recording.time
    return {
        "recording": side.name,
        "site": side.review.site.site.name or None,
        "session": side.session,
        "start": stamp(side.sessions[0].start if side.sessions else time[0]),
        "end": stamp(side.sessions[-1].end if side.sessions else time[-1]),
        "sessions": len(side.sessions),
        "load_sd_kw": kilo(load_sd(side)),
        "load_sd_source": "assumed" if math.isnan(recorded_load_sd(side)) else "recorded",
    }


def _row(row: Row) -> Object:
    return {
        "unit": row.unit or None,
        "a": _estimate(row.a),
        "b": _estimate(row.b),
        "change": _estimate(row.change),
        "verdict": row.verdict,
    }


def _estimate(found: Estimate) -> Object:
    return {
        "value": number(found.value),
        "sd": number(found.sd),
        "chance_sd": number(found.chance),
        "meters_sd": number(found.meters),
    }


def _finding(one: FindingChange) -> Object:
    return {
        "kind": one.kind,
        "severity": SEVERITY_OF[one.kind],
        "a": one.a,
        "b": one.b,
        "course": one.course,
    }


def _setting(one: SettingChange) -> Object:
    return {"section": one.section, "key": one.key, "a": _value(one.a), "b": _value(one.b)}


def _value(value: Any) -> Any:
    return value if value is None or isinstance(value, (bool, int, float, str)) else str(value)
