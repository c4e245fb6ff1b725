"""Which meter lies: each suspect with its numbers, its rivals, the evidence as a picture, and trying it out."""

from __future__ import annotations

import logging
import math
from collections.abc import Callable, Sequence
from datetime import tzinfo

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout

from desktop.diagnosis.suspects import Evidence, Suspect, correctable
from desktop.picture.charts.chart import Chart
from desktop.picture.charts.imbalance import imbalance_chart
from desktop.window.evidence.page import BEING_LOOKED_INTO, LookPage, framed, head, lines
from desktop.window.opening import Ready
from desktop.window.parts.chart_view import ChartView
from desktop.window.parts.latest import Latest
from desktop.window.parts.told import Told
from desktop.words import NOT_KNOWN, Phrase, decimal, kept_together, template, tr

_PARAMETERS: dict[str, str] = {
    "scale": template("Factor {value}, give or take {spread}."),
    "one_leg": template("Share that it sees {value}, give or take {spread}."),
    "offset": template("Offset {value} W, give or take {spread} W."),
    "unmetered_load": template("Mean power {value} W, give or take {spread} W."),
    "unmetered_source": template("Mean power {value} W, give or take {spread} W."),
    "lag": template("Lag {value} s, give or take {spread} s."),
}


class MetersPage(LookPage):
    """All suspects.

    tried  the user wants to see the recording with this put right (Suspect)
    """

    needs = ("balance", "suspects")

    tried = Signal(object)
    _weighed = Signal(int, int, object)

    def __init__(self) -> None:
        super().__init__(template("Which meter reads wrong"))
        self.charts: list[ChartView] = []
        self.tries: list[QPushButton] = []
        self._places: list[QVBoxLayout] = []
        self._latest = Latest("weighing evidence")
        self._weighed.connect(self._draw)

    def said(self, ready: Ready) -> object:
        """Suspects, and how well the powers add up."""
        shares = ready.review.balance.in_balance_share
        return ready.review.suspects, round(shares, 3) if math.isfinite(shares) else None, ready.tried

    def attention(self) -> int:
        """Suspects."""
        return 0 if self.ready is None else len(self.ready.review.suspects)

    def fill(self, column: QVBoxLayout, ready: Ready) -> None:
        """Each suspect; or that there is none. What it takes to draw the evidence is worked out beside."""
        self.charts, self.tries, self._places = [], [], []
        self._latest.drop()
        suspects = ready.review.suspects
        if not suspects:
            lines(column, _nothing(ready))
            return
        for suspect in suspects:
            self._suspect(column, ready, suspect)
        works = [ready.review.evidence_work(suspect) for suspect in suspects]
        self._latest.begin(self._weigh, works, ready.review.site.zone)

    def end_work(self) -> None:
        """Wait until nothing more is worked out."""
        self._latest.close()

    def _weigh(self, token: int, works: Sequence[Callable[[], Evidence]], zone: tzinfo) -> None:
        for number, work in enumerate(works):
            if not self._latest.counts(token):
                return
            try:
                chart = imbalance_chart(work(), zone)
            except Exception:
                logging.getLogger(__name__).exception("weighing evidence")
                chart = None
            if self._latest.counts(token):
                self._weighed.emit(token, number, chart)

    def _draw(self, token: int, number: int, chart: Chart | None) -> None:
        """The evidence against one of the suspects is there."""
        if not self._latest.counts(token):
            return
        place = self._places[number]
        waiting = place.takeAt(0).widget()
        waiting.hide()
        waiting.deleteLater()
        if chart is None:
            return
        view = ChartView()
        view.show_chart(chart)
        place.addWidget(framed(view))
        self.charts.append(view)

    def _suspect(self, column: QVBoxLayout, ready: Ready, suspect: Suspect) -> None:
        told = Told(1.15)
        told.say("attend", kept_together(str(suspect.text)))
        column.addWidget(told)
        lines(column, [_share(suspect), parameter(suspect)])
        place = QVBoxLayout()
        lines(place, [BEING_LOOKED_INTO], "muted")
        column.addLayout(place)
        self._places.append(place)
        if suspect.rivals:
            column.addWidget(head(template("It may as well be")))
            for rival in suspect.rivals:
                lines(column, [f"{rival.text} {_share(rival)}"])
        column.addWidget(head(template("How to make sure")))
        lines(column, [suspect.advice])
        self._offer(column, ready, suspect)

    def _offer(self, column: QVBoxLayout, ready: Ready, suspect: Suspect) -> None:
        """A button for each correction that can be tried."""
        able = [each for each in (suspect, *suspect.rivals) if correctable(each)]
        if not able:
            lines(column, [tr("What has no meter can't be put right in the recording.")], "muted")
            return
        if ready.wanted is None:
            lines(column, [tr("A correction can be tried once the recording is opened as a file.")], "muted")
            return
        for each in able:
            words = (
                tr("&Try this correction")
                if each is suspect and len(able) == 1
                else str(Phrase("Try: {what}", what=each.text))
            )
            button = QPushButton(words)
            button.setAccessibleDescription(str(each.text))
            button.clicked.connect(lambda _=False, each=each: self.tried.emit(each))
            self.tries.append(button)
            row = QHBoxLayout()
            row.addWidget(button)
            row.addStretch(1)
            column.addLayout(row)


def parameter(suspect: Suspect) -> Phrase:
    """What is wrong in numbers; empty where there are none."""
    words = _PARAMETERS.get(suspect.fault)
    if words is None or not math.isfinite(suspect.parameter):
        return Phrase("")
    spread = suspect.parameter_sd
    known = math.isfinite(spread) and spread > 0
    digits = max(0, min(3, -math.floor(math.log10(spread)))) if known else 2
    return Phrase(
        words,
        value=decimal(suspect.parameter, digits),
        spread=decimal(spread, digits) if known else NOT_KNOWN,
    )


def _share(suspect: Suspect) -> Phrase:
    return Phrase("With that put right {share:%} of the imbalance is gone.", share=100 * suspect.explains)


def _nothing(ready: Ready) -> list[Phrase]:
    share = ready.review.balance.in_balance_share
    told = [Phrase("No meter is suspected to read wrong.")]
    if math.isfinite(share):
        told.append(Phrase("The powers add up in {share:%} of the time.", share=100 * share))
    else:
        told.append(Phrase("The recording has too few meters to hold one against another."))
    return told
