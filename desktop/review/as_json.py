"""A review as one JSON object. Its keys are public: they may grow, and are not renamed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from desktop.charging.energy import Energy
from desktop.charging.sessions import Session
from desktop.diagnosis.finding import Finding
from desktop.flow.streams import SINKS, SOURCES
from desktop.review.advice import advice_json
from desktop.review.battery import battery_json
from desktop.review.causes import causes_json
from desktop.review.checks import checks_json
from desktop.review.corrected import correction_phrase
from desktop.review.forecast import forecast_json
from desktop.review.fuel import fuel_json
from desktop.review.json_values import Object, kilo, number, stamp
from desktop.review.suspects import suspects_json
from desktop.site import Site
from recordings.recording import Recording

if TYPE_CHECKING:
    from desktop.review.reviewing import Review


def as_json(review: Review) -> Object:
    """The whole review. Times are ISO 8601 in UTC; null is what isn't known.

    All is as recorded, but for what stands under "corrected".
    """
    return {
        "recording": _recording(review),
        "site": _site(review.site),
        "balance": _balance(review),
        "energy_kwh": {"in_doubt": _in_doubt(review), **_energy(review.energy)},
        "sessions": _sessions(review),
        "corrected": _corrected(review),
        "findings": [_finding(one) for one in review.findings],
        "causes": causes_json(review.chains),
        "checks": checks_json(review.checks),
        "battery": battery_json(review.battery),
        "forecast": forecast_json(review.forecast),
        "limit_advice": advice_json(review.limit_advice),
    }


def _recording(review: Review) -> Object:
    recording: Recording = review.recording
    told = recording.provenance
    ends = [stamp(recording.time[row]) for row in (0, -1)] if len(recording) else [None, None]
    return {
        "rows": len(recording),
        "start": ends[0],
        "end": ends[1],
        "interval_s": number(review.interval_s),
        "channels": list(recording.channels),
        "gaps": [{"start": stamp(start), "end": stamp(end)} for start, end in review.gaps],
        "repaired": {
            "duplicates": told.repairs.duplicates,
            "out_of_order": told.repairs.out_of_order,
            "bad_cells": told.repairs.bad_cells,
            "bad_rows": told.repairs.bad_rows,
        },
        "notes": list(told.repairs.notes),
        "ignored": list(told.ignored),
        "unclear": list(told.unclear),
        "timezone": told.timezone or None,
        "columns": {
            channel: {"column": one.column, "unit": one.unit, "sign": one.sign, "how": one.how}
            for channel, one in told.columns.items()
        },
    }


def _site(site: Site) -> Object:
    sheet: Object = {}
    for section, key, value, source in site.items():
        sheet.setdefault(section, {})[key] = {"value": value, "source": source}
    return sheet


def _balance(review: Review) -> Object:
    balance = review.balance
    conversion = review.conversion
    return {
        "degrees_of_freedom": balance.degrees_of_freedom,
        "in_balance_share": number(balance.in_balance_share),
        "unaccounted_w": {
            "mean": number(balance.unaccounted_mean_w),
            "p95": number(balance.unaccounted_p95_w),
        },
        "conversion": {
            "idle_w": number(conversion.idle_w),
            "slope": number(conversion.slope),
            "source": conversion.source,
        },
        "suspects": suspects_json(review.suspects),
    }


def _energy(energy: Energy) -> Object:
    ahead, back = energy.forward, energy.backward
    amounts = {
        "generator": ahead["generator"],
        "grid_in": ahead["grid"],
        "grid_out": back["grid"],
        "solar": energy.solar,
        "load": ahead["load"],
        "dc_load": ahead["dc_load"],
        "battery_in": ahead["battery"],
        "battery_out": back["battery"],
        "losses": ahead["loss"],
        "unaccounted": energy.unaccounted,
    }
    table = {
        source: {sink: kilo(float(energy.table[row, column])) for column, sink in enumerate(SINKS)}
        for row, source in enumerate(SOURCES)
    }
    return {
        **{name: kilo(amount.wh) if energy.covers(amount) else None for name, amount in amounts.items()},
        "unknown_time_s": number(energy.unknown_s),
        "unknown_s": {name: number(amount.unknown_s) for name, amount in amounts.items()},
        "sd": {name: kilo(amount.sd) if energy.covers(amount) else None for name, amount in amounts.items()},
        "source_to_sink": table,
    }


def _in_doubt(review: Review) -> bool:
    """True where the powers as recorded don't add up, so that energies and sessions can't be relied on."""
    return review.figures.in_doubt or review.figures.put_right is not None


def _corrected(review: Review) -> Object | None:
    """What text and report tell where a lying meter could be put right; null where they tell what was recorded."""
    put_right, told = review.figures.put_right, review.figures.review
    if put_right is None:
        return None
    return {
        "how": str(correction_phrase(put_right)),
        "correction": suspects_json([put_right])[0],
        "in_balance_share": number(told.balance.in_balance_share),
        "energy_kwh": {"in_doubt": False, **_energy(told.energy)},
        "sessions": _sessions(told),
    }


def _sessions(review: Review) -> list[Object]:
    fuel, said = review.fuel, review.forecasts
    told = []
    for number_, session in enumerate(review.sessions):
        burnt = fuel.sessions[number_] if number_ < len(fuel.sessions) else None
        quarters = said[number_] if number_ < len(said) else ()
        told.append(
            {
                **_session(session),
                "fuel": fuel_json(burnt, fuel, review.site),
                "forecast": [forecast_json(one) for one in quarters],
            }
        )
    return told


def _session(session: Session) -> Object:
    return {
        "start": stamp(session.start),
        "end": stamp(session.end),
        "generator_kwh": kilo(session.generator_wh),
        "to_load_kwh": kilo(session.to_load_wh),
        "to_battery_kwh": kilo(session.to_battery_wh),
        "losses_kwh": kilo(session.losses_wh),
        "solar_to_battery_kwh": kilo(session.solar_to_battery_wh),
        "soc_start": number(session.soc_start),
        "soc_end": number(session.soc_end),
        "mean_load_share": number(session.mean_load_share),
        "peak_input_a": number(session.peak_input_a),
        "stop": session.stop,
    }


def _finding(finding: Finding) -> Object:
    return {
        "kind": finding.kind,
        "severity": finding.severity,
        "start": stamp(finding.start),
        "end": None if finding.end is None else stamp(finding.end),
        "channel": finding.channel,
        "peak": number(finding.peak),
        "threshold": number(finding.threshold),
        "unit": finding.unit,
        "title": str(finding.title),
        "text": str(finding.text),
        "cause": str(finding.cause),
        "advice": str(finding.advice),
    }
