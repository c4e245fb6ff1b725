"""What the AC input limit should be: sentences, charts over every setting, and a table of those around the best."""

from __future__ import annotations

import math

from PySide6.QtWidgets import QVBoxLayout

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.settings import Setting
from desktop.picture.charts.limits import chance_chart, hours_chart, tells
from desktop.review.advice import advice_phrases, shown_settings
from desktop.review.as_text import limit_set
from desktop.window.evidence.page import LookPage, framed, lines, tabled
from desktop.window.opening import Ready
from desktop.window.parts.chart_view import ChartView
from desktop.window.parts.told import Told
from desktop.window.parts.word_table import WordTable
from desktop.words import Phrase, current, decimal, duration, kept_together, template, tr


class LimitPage(LookPage):
    """The advice; where there is none, why."""

    needs = ("limit_advice",)

    def __init__(self) -> None:
        super().__init__(template("What the AC input limit should be"))
        self.charts: list[ChartView] = []
        self.table: WordTable | None = None

    def said(self, ready: Ready) -> object:
        """The advice, and what is set."""
        # Numbers that are not known are equal in words only.
        return repr(ready.review.limit_advice), limit_set(ready.review)

    def attention(self) -> int:
        """Whether another limit is advised, below the one that is set."""
        if self.ready is None:
            return 0
        best, now = self.ready.review.limit_advice.best, limit_set(self.ready.review)
        settings = self.ready.review.limit_advice.settings
        if best is None or now is None or now <= best.limit_a:
            return 0
        return int(min(settings, key=lambda each: abs(each.limit_a - now)).trips > 0)

    def fill(self, column: QVBoxLayout, ready: Ready) -> None:
        """Sentences, charts, table."""
        advice, now = ready.review.limit_advice, limit_set(ready.review)
        self.charts, self.table = [], None
        if math.isnan(advice.full_load_a):
            lines(column, [advice.unknown])
            return
        first, *others = advice_phrases(advice, now)
        told = Told(1.15)
        told.say("attend" if self.attention() else None, kept_together(str(first)))
        column.addWidget(told)
        lines(column, others)
        for chart in (hours_chart(advice, now), chance_chart(advice, now)):
            if chart is not None:
                view = ChartView()
                view.show_chart(chart)
                column.addWidget(framed(view))
                self.charts.append(view)
        if advice.settings:
            self._add_table(column, advice, now)

    def _add_table(self, column: QVBoxLayout, advice: LimitAdvice, now: float | None) -> None:
        settings = list(shown_settings(advice))
        nearest = _nearest(advice.settings, now)
        if nearest is not None and nearest not in settings:
            settings = sorted([*settings, nearest], key=lambda each: each.limit_a)
        fuel = any(math.isfinite(each.fuel) for each in settings)
        span = tr("for each kWh") if advice.per_kwh else tr("to the target")
        burnt = [str(Phrase("fuel, {unit}", unit=advice.unit))] if fuel else []
        head = [tr("limit"), "", tr("chance of a trip"), span, *burnt]
        rows = [
            [
                current(each.limit_a),
                _mark(each, advice, nearest),
                _chance(each),
                duration(3600 * each.hours),
                *([_litres(each.fuel)] if fuel else []),
            ]
            for each in settings
        ]
        marked = [number for number, each in enumerate(settings) if each in (advice.best, nearest)]
        self.table = WordTable(tr("Settings that were tried"))
        self.table.show_rows(head, rows, numbers=(0, 3, 4), marked=marked)
        tabled(column, self.table)


def _nearest(settings: tuple[Setting, ...], now: float | None) -> Setting | None:
    """The setting that was tried next to what is set."""
    if now is None or not settings:
        return None
    return min(settings, key=lambda each: abs(each.limit_a - now))


def _mark(setting: Setting, advice: LimitAdvice, nearest: Setting | None) -> str:
    words = []
    if setting is advice.best:
        words.append(tr("advised"))
    if setting is nearest:
        words.append(tr("about as set now"))
    if advice.usual_a[0] <= setting.limit_a <= advice.usual_a[1]:
        words.append(tr("usual practice"))
    return ", ".join(words)


def _chance(setting: Setting) -> str:
    if not tells(setting):
        return tr("no trip in the replay")
    chance = Phrase("{chance:%}", chance=100 * setting.chance)
    return str(chance if setting.trips else Phrase("no trip in the replay, below {chance}", chance=chance))


def _litres(value: float) -> str:
    return decimal(value, 1) if math.isfinite(value) else "–"
