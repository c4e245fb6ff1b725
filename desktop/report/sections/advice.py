"""What the AC input limit should be, with every setting that was tried."""

from __future__ import annotations

import math

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.settings import Setting
from desktop.report.blocks import Block, Paragraph, Section, Table
from desktop.review import Review
from desktop.review.advice import advice_phrases, shown_settings
from desktop.review.as_text import limit_set
from desktop.words import Phrase, current, decimal, duration, percent, tr

_OF_LIMIT = frozenset(
    {"input_over_limit", "generator_over_rating", "limit_above_rating", "generator_stopped_under_load"}
)


def advice(review: Review) -> Section | None:
    """The advice; None where nothing can be said of the limit."""
    found = review.limit_advice
    if math.isnan(found.full_load_a):
        return None
    told: list[Block] = [Paragraph(str(phrase)) for phrase in advice_phrases(found, limit_set(review))]
    if found.settings:
        told.append(_table(found))
    return Section("advice", tr("What the AC input limit should be"), tuple(told))


def lowering(review: Review) -> str:
    """The advice in a sentence where the limit should be lower and something came of that; else empty."""
    found, now = review.limit_advice, limit_set(review)
    if found.best is None or now is None or found.best.limit_a >= now:
        return ""
    if not any(finding.kind in _OF_LIMIT for finding in review.findings):
        return ""
    return str(next(advice_phrases(found, now)))


def _table(found: LimitAdvice) -> Table:
    fuel = any(math.isfinite(each.fuel) for each in found.settings)
    span = tr("Time for each kWh") if found.per_kwh else tr("Time to the target")
    burnt = (str(Phrase("Fuel, {unit}", unit=found.unit)),) if fuel else ()
    head = ("", tr("Limit per leg"), span, *burnt, tr("Trips in the replay"), tr("Highest load"))
    rows = tuple(_row(found, each, fuel) for each in shown_settings(found))
    caption = tr("Each setting, tried on the recorded load. Highest load: share of what the set can carry.")
    return Table(caption, head, rows, frozenset(range(1, len(head))))


def _row(found: LimitAdvice, setting: Setting, fuel: bool) -> tuple[str, ...]:
    burnt = (decimal(setting.fuel, 1) if math.isfinite(setting.fuel) else "–",)
    return (
        tr("→ advised") if setting is found.best else "",
        current(setting.limit_a),
        duration(3600 * setting.hours),
        *(burnt if fuel else ()),
        str(setting.trips) if setting.trips else tr("none"),
        percent(100 * setting.peak),
    )
