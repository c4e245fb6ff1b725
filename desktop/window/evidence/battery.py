"""What the battery is like, and its own state of charge beside the reported one."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout

from desktop.charging.battery.apart import stretches_apart
from desktop.charging.battery.facts import BatteryFacts, Estimate
from desktop.picture.charts.battery import soc_chart
from desktop.review.battery import battery_text
from desktop.review.foretold import foretold
from desktop.window.evidence.foretold import forecasts_against_outcome
from desktop.window.evidence.page import LookPage, framed, head, lines, tabled
from desktop.window.opening import Ready
from desktop.window.parts.chart_view import ChartView
from desktop.window.parts.word_table import WordTable
from desktop.words import Phrase, energy, percent, template, tr

_ORIGINS = {
    "measured": template("in the recording"),
    "given": template("on the site sheet"),
    "assumed": template("assumed"),
    "not known": template("not known"),
}


class BatteryPage(LookPage):
    """What was found of the battery."""

    needs = ("battery", "forecasts")

    def __init__(self) -> None:
        super().__init__(template("What the battery is like"))
        self.chart: ChartView | None = None
        self.table: WordTable | None = None
        self.forecasts: WordTable | None = None

    def said(self, ready: Ready) -> object:
        """Its facts and forecasts, as far as they are told: courses are compared by their ends."""
        facts = ready.review.battery
        own = facts.own_soc
        course = None if own is None else (len(own.time), own.full, own.rest)
        return battery_text(facts), course, foretold(ready.review)

    def attention(self) -> int:
        """Whether gauge and count have parted."""
        own = None if self.ready is None else self.ready.review.battery.own_soc
        return 0 if own is None else int(bool(stretches_apart(own)))

    def fill(self, column: QVBoxLayout, ready: Ready) -> None:
        """Sentences, a table of values, and the chart; and what forecasts were worth."""
        facts = ready.review.battery
        self.chart = self.table = self.forecasts = None
        if facts.lack == "no power":
            lines(column, [tr("The recording doesn't tell what flows into the battery.")])
            return
        lines(column, battery_text(facts))
        self.table = WordTable(tr("Values of the battery"))
        self.table.show_rows(["", tr("value"), tr("95 % between"), tr("from")], _rows(facts), numbers=(1, 2))
        tabled(column, self.table)
        self._fill_courses(column, ready)
        self.forecasts = forecasts_against_outcome(column, ready, self.times)

    def _fill_courses(self, column: QVBoxLayout, ready: Ready) -> None:
        own = ready.review.battery.own_soc
        chart = None if own is None else soc_chart(own, ready.review.site.zone)
        if chart is None:
            lines(
                column,
                [
                    tr(
                        "Nothing in the recording anchors a count of the charge: it was neither full nor at rest."
                    )
                ],
                "muted",
            )
            return
        column.addWidget(head(template("Counted beside reported")))
        self.chart = ChartView()
        self.chart.show_chart(chart)
        column.addWidget(framed(self.chart))


def _rows(facts: BatteryFacts) -> list[list[str]]:
    rows = [
        _row(tr("Delivers from full to empty"), facts.capacity_wh, energy),
        _row(tr("Takes from empty to full"), facts.fill_wh, energy),
        _row(tr("Charge at 100 %"), facts.capacity_ah, _ampere_hours),
        _row(tr("Energy that comes back"), facts.energy_efficiency, _share),
        _row(tr("Charge that comes back"), facts.coulombic, _share),
    ]
    resistance = facts.resistance
    if resistance is not None:
        low, high = (1000 * (resistance.ohm + side * 2 * resistance.sd) for side in (-1, 1))
        rows.append(
            [
                tr("Internal resistance"),
                f"{_milliohm(1000 * resistance.ohm)}",
                str(Phrase("{low} – {high}", low=_milliohm(max(low, 0.0)), high=_milliohm(high))),
                tr(_ORIGINS["measured"]),
            ]
        )
    return rows


def _row(name: str, estimate: Estimate, shown: object) -> list[str]:
    if not estimate.known:
        return [name, tr(template("not known")), "", ""]
    ranged = estimate.low == estimate.low and estimate.high == estimate.high
    between = str(Phrase("{low} – {high}", low=shown(estimate.low), high=shown(estimate.high)))
    return [name, shown(estimate.value), between if ranged else "", tr(_ORIGINS[estimate.origin])]


def _share(value: float) -> str:
    return percent(100 * value)


def _ampere_hours(value: float) -> str:
    return str(Phrase("{value} Ah", value=f"{value:.0f}"))


def _milliohm(value: float) -> str:
    return str(Phrase("{value:.1f} mΩ", value=value))
