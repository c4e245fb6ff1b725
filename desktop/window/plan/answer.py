"""The answer of a plan: sentences first, then the rules, charts, what it rests on, and what to mind."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from desktop.charging.outlook.as_text import (
    SOURCES,
    answer,
    assumed_text,
    rule_cells,
    rule_heads,
    title,
    told_rules,
)
from desktop.charging.outlook.outlook import Outlook
from desktop.charging.outlook.planning import Plan
from desktop.picture.charts.plans import fuel_over_days, rules_compared, short_name, soc_by_hour
from desktop.window.evidence.page import framed, head, lines, tabled
from desktop.window.parts.chart_view import ChartView
from desktop.window.parts.text import Text
from desktop.window.parts.word_table import WordTable
from desktop.window.sheet.fields import Choice
from desktop.words import Phrase, kept_together, template, tr

_OTHERWISE = {
    "How long the fuel lasts isn't known: say with --fuel how much there is.": template(
        "How long the fuel lasts isn't known: say in the form how much there is."
    ),
    "The sun of these days stands for all of the {days:d} days. Where the days grow shorter there will be "
    "less: try a smaller --overcast, and plan anew every few weeks.": template(
        "The sun of these days stands for all of the {days:d} days. Where the days grow shorter there will be "
        "less: try a smaller share of the sun, and plan anew every few weeks."
    ),
}
"""What is said otherwise beside a form than on a command line."""


class PlanAnswer(QWidget):
    """Shows one plan."""

    def __init__(self, plan: Plan) -> None:
        super().__init__()
        self.plan = plan
        found = plan.outlook
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 8)
        column.setSpacing(10)
        column.addWidget(Text(str(title(found, plan.name)), size=1.25, bold=True, wrap=True))
        for number, phrase in enumerate(answer(found)):
            words = kept_together(str(_in_the_window(phrase)))
            column.addWidget(Text(words, wrap=True, bold=number == 0, size=1.1 if number == 0 else 1.0))
        column.addWidget(head(template("Rules that were compared")))
        self.table = WordTable(tr("Rules that were compared"))
        self._fill_table(found)
        tabled(column, self.table)
        left = len(found.rules) - len(told_rules(found))
        if left:
            more = Phrase(
                "{count:d} more, with other limits, come to nearly the same or are worse; each can be drawn below.",
                count=left,
            )
            column.addWidget(Text(str(more), wrap=True, tone="muted"))
        self._add_charts(column, found)
        column.addWidget(head(template("What this rests on")))
        self._add_basis(column, plan)
        column.addWidget(head(template("What to mind")))
        lines(column, [f"– {one}" for one in plan.cautions])
        column.addStretch(1)

    def _fill_table(self, found: Outlook) -> None:
        told = told_rules(found)
        rows = [
            [
                str(number + 1),
                *rule_cells(found.rules[number], found.question.horizon),
                tr("← best") if number == found.best else "",
            ]
            for number in told
        ]
        heads = [tr("rule"), *rule_heads(found), ""]
        self.table.show_rows(heads, rows, numbers=range(len(heads) - 1), marked=[told.index(found.best)])

    def _add_charts(self, column: QVBoxLayout, found: Outlook) -> None:
        self.charts = [ChartView(), ChartView(), ChartView()]
        self.rule = Choice()
        self.rule.setAccessibleName(tr("Rule that is drawn"))
        for number, one in enumerate(found.rules):
            words = str(short_name(number, one.rule))
            best = Phrase("{rule}, best", rule=words) if number == found.best else words
            self.rule.addItem(str(best))
        self.rule.setCurrentIndex(found.best)
        self.rule.activated.connect(self._draw)
        label = QLabel(tr("Rule that is &drawn"))
        label.setBuddy(self.rule)
        row = QHBoxLayout()
        row.addWidget(label)
        row.addWidget(self.rule)
        row.addStretch(1)
        self.frames = [framed(view) for view in self.charts]
        column.addWidget(self.frames[0])
        column.addLayout(row)
        for frame in self.frames[1:]:
            column.addWidget(frame)
        self.charts[0].show_chart(rules_compared(found))
        self._draw(found.best)

    def _draw(self, rule: int) -> None:
        found = self.plan.outlook
        self.charts[1].show_chart(soc_by_hour(found, rule))
        fuel = fuel_over_days(found, rule)
        self.charts[2].show_chart(fuel)
        self.frames[2].setVisible(fuel is not None)

    def _add_basis(self, column: QVBoxLayout, plan: Plan) -> None:
        for source, words in SOURCES.items():
            told = [assumed_text(one) for one in plan.outlook.assumptions if one.source == source]
            if told:
                column.addWidget(Text(tr(words), bold=True))
                column.addWidget(Text("\n".join(told), wrap=True))
        lines(column, map(_in_the_window, plan.remarks), "muted")


def _in_the_window(phrase: Phrase) -> Phrase:
    """The sentence as it is said beside a form."""
    return Phrase(_OTHERWISE.get(phrase.template, phrase.template), phrase.zone, **phrase.values)
