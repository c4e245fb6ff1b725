"""What was burnt, what each kWh took, what low load cost, and what the tank still holds."""

from __future__ import annotations

import math

from PySide6.QtWidgets import QVBoxLayout

from desktop.charging.fuel.phrases import LEAST_EXTRA
from desktop.charging.fuel.runs import Burnt
from desktop.charging.fuel.state import Fuel
from desktop.picture.charts.burning import burning_chart
from desktop.review.fuel import fuel_text
from desktop.window.evidence.page import LookPage, framed, lines, tabled
from desktop.window.opening import Ready
from desktop.window.parts.chart_view import ChartView
from desktop.window.parts.word_table import WordTable
from desktop.words import Phrase, decimal, duration, percent, template, tr

_MOST = 40
"""Sessions that are listed: the latest."""


class FuelPage(LookPage):
    """What is known of the fuel."""

    needs = ("fuel",)

    def __init__(self) -> None:
        super().__init__(template("What the fuel did"))
        self.chart: ChartView | None = None
        self.table: WordTable | None = None

    def said(self, ready: Ready) -> object:
        """All that is known of it."""
        # Numbers that are not known are equal in words only.
        return repr(ready.review.fuel)

    def attention(self) -> int:
        """Whether low load cost much."""
        return 0 if self.ready is None else int(any(map(_wasteful, self.ready.review.fuel.sessions)))

    def fill(self, column: QVBoxLayout, ready: Ready) -> None:
        """Sentences, the sessions, the curve."""
        fuel = ready.review.fuel
        self.chart = self.table = None
        if fuel.curve is None:
            missing = tr(
                "What the generator burns isn't known. It takes its rating and its fuel on the site sheet; what "
                "its data sheet says of half and full load tells better."
            )
            lines(column, [missing])
            return
        lines(column, fuel_text(fuel) or [tr("The generator has burnt nothing that is known.")])
        if fuel.tank is None:
            how = tr(
                "What is left in the tank isn't known. It takes the tank's size on the site sheet, and a fuel "
                "gauge in the recording or a note of when it was filled up."
            )
            lines(column, [how], "muted")
        self._add_table(column, ready, fuel)
        chart = burning_chart(fuel)
        if chart is not None:
            self.chart = ChartView()
            self.chart.show_chart(chart)
            column.addWidget(framed(self.chart))

    def _add_table(self, column: QVBoxLayout, ready: Ready, fuel: Fuel) -> None:
        known = [
            (session, burnt)
            for session, burnt in zip(ready.review.sessions, fuel.sessions, strict=False)
            if burnt is not None and math.isfinite(burnt.amount)
        ][-_MOST:]
        if not known:
            return
        unit = fuel.curve.unit
        costs = any(math.isfinite(burnt.cost) for _, burnt in known)
        names = [
            tr("session"),
            tr("ran for"),
            tr("mean load"),
            str(Phrase("burnt, {unit}", unit=unit)),
            str(Phrase("{unit} for each kWh", unit=unit)),
            str(Phrase("for low load, {unit}", unit=unit)),
            *([tr("cost")] if costs else []),
        ]
        rows = [
            [
                self.times(session.start, seconds=False),
                duration(3600 * burnt.hours),
                percent(100 * burnt.load_share),
                str(Phrase("{amount:.1f} ± {sd:.1f}", amount=burnt.amount, sd=burnt.sd)),
                decimal(burnt.each_kwh, 2),
                decimal(burnt.extra, 1) if burnt.extra > 0 else "–",
                *([decimal(burnt.cost, 2)] if costs else []),
            ]
            for session, burnt in known
        ]
        marked = [number for number, (_, burnt) in enumerate(known) if _wasteful(burnt)]
        self.table = WordTable(tr("Sessions"))
        self.table.show_rows(names, rows, numbers=range(1, len(names)), marked=marked)
        tabled(column, self.table)


def _wasteful(burnt: Burnt | None) -> bool:
    return burnt is not None and burnt.extra >= LEAST_EXTRA * burnt.amount
