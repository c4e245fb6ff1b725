"""What the AC input limit should be: sentences, charts over every setting, and a table of those around the best."""

from __future__ import annotations

import math

from PySide6.QtWidgets import QVBoxLayout

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.against import against
from desktop.charging.advice.settings import Setting
from desktop.picture.charts.limits import chance_chart, hours_chart, tells
from desktop.review.advice import advice_phrases, shown_settings
from desktop.review.advised import limit_set
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
        told = against(self.ready.review.limit_advice, limit_set(self.ready.review))
        return int(told is not None and told.lower_to is not None)

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
        told = against(advice, now)
        nearest = None if told is None else told.nearest
        advised = advice.best if told is None else told.advised
        if nearest is not None and nearest not in settings:
            settings = sorted([*settings, nearest], key=lambda each: each.limit_a)
        fuel = any(math.isfinite(each.fuel) for each in settings)
        span = tr("for each kWh") if advice.per_kwh else tr("to the target")
        burnt = [str(Phrase("fuel, {unit}", unit=advice.unit))] if fuel else []
        head = [tr("limit"), "", tr("chance of a trip"), span, *burnt]
        rows = [
            [
                current(each.limit_a),
                _mark(each, advice, advised, nearest),
                _chance(each),
                duration(3600 * each.hours),
                *([_litres(each.fuel)] if fuel else []),
            ]
            for each in settings
        ]
        marked = [number for number, each in enumerate(settings) if each in (advised, nearest)]
        self.table = WordTable(tr("Settings that were tried"))
        self.table.show_rows(head, rows, numbers=(0, 3, 4), marked=marked)
        tabled(column, self.table)


def _mark(setting: Setting, advice: LimitAdvice, advised: Setting | None, nearest: Setting | None) -> str:
    words = []
    if setting is advised:
        words.append(tr("advised: costs least") if setting is advice.best else tr("stands well"))
    if setting is nearest:
        words.append(tr("set now"))
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
