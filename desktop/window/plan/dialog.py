"""The window of a plan: the form at the left, the answer at the right, worked out beside both."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from desktop.charging.fuel.curve import fuel_curve
from desktop.charging.outlook.evidence import Evidence
from desktop.charging.outlook.planning import Plan, plan
from desktop.review import Review
from desktop.review.growing import GrowingReview
from desktop.site import Site
from desktop.window import export
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.text import Text
from desktop.window.parts.work_dialog import WorkDialog
from desktop.window.plan.answer import PlanAnswer
from desktop.window.plan.form import PlanForm
from desktop.words import Phrase, template, tr
from recordings.errors import HeadraceError

_OPTIONS = {
    "type the appliances in and name them with --appliances": "type the appliances into the form",
    "a file of appliances with --appliances": "type appliances into the form",
    "a --stop above a --start": "a stop above a start",
}
"""What a command line has options for, and a form has fields."""


class PlanDialog(WorkDialog):
    """Plans from a review, or from a sheet alone.

    site_asked    the user wants to plan with another sheet
    export_asked  the user wants the answer as a picture
    """

    site_asked = Signal()
    export_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("planning", parent, 1.0)
        self.setWindowTitle(tr("Plan for an outage"))
        self._review: Review | None = None
        self._site = Site()
        self.form = PlanForm()
        self.answer: PlanAnswer | None = None
        self._lay_out()
        self.show_busy(False)

    def _lay_out(self) -> None:
        self.begin = QPushButton(tr("&Work it out"))
        self.sheet = QPushButton(tr("Use a site &sheet…"))
        self.export = QPushButton(tr("&Export picture…"))
        self.copy = QPushButton(tr("Co&py picture"))
        self.print = QPushButton(tr("P&rint…"))
        close = QPushButton(tr("Close"))
        self.begin.setDefault(True)
        self.begin.clicked.connect(self.work)
        self.sheet.clicked.connect(self.site_asked)
        self.export.clicked.connect(self.export_asked)
        self.copy.clicked.connect(lambda: export.copy(self.answer))
        self.print.clicked.connect(lambda: export.ask_and_print(self.answer))
        close.clicked.connect(self.reject)
        self.left = QWidget()
        form = QVBoxLayout(self.left)
        form.setContentsMargins(0, 0, 0, 0)
        form.addWidget(Scrolled(self.form), 1)
        for button in (self.begin, self.cancel, self.sheet):
            form.addWidget(button)
        self.place = QWidget()
        self._right = QVBoxLayout(self.place)
        self._right.setContentsMargins(0, 0, 0, 0)
        self._right.addWidget(self.told)
        self._right.addWidget(self.bar)
        self._answered: QWidget = Text(
            tr("How many hours a day must the generator run, and how long does the fuel last?"), wrap=True
        )
        self._right.addWidget(self._answered, 1)
        self.both = QSplitter(Qt.Orientation.Horizontal)
        self.both.setChildrenCollapsible(False)
        self.both.addWidget(self.left)
        self.both.addWidget(self.place)
        self.both.setStretchFactor(1, 1)
        buttons = QHBoxLayout()
        for button in (self.export, self.copy, self.print):
            buttons.addWidget(button)
        buttons.addStretch(1)
        buttons.addWidget(close)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(self.both, 1)
        column.addLayout(buttons)
        self.resize(comfortable(self, 1180, 760))

    # What is planned from

    def show_review(self, review: Review) -> None:
        """Plan from this one."""
        self._review = review
        self.show_site(review.site)

    def show_site(self, site: Site) -> None:
        """Plan with this sheet."""
        self._site = site
        self.form.show_site(site, self._review is not None)

    def work(self) -> None:
        """Work out what the form asks for."""
        if not self.form.right():
            self.told.say(
                "attend", tr("Something in the form can't be right. What would be right stands beside it.")
            )
            return
        wishes, site, review = self.form.wishes(), self._site, self._review
        # What grows is looked at here and now; of what doesn't, that may take its time.
        now = _evidence(review, site) if isinstance(review, GrowingReview) else None
        self.show_busy(True)
        self.told.say(None, tr("Working it out…"))
        fault = template("No plan can be made: a fault inside the program ({fault}).")
        self.worker.begin(
            lambda told: plan(site, now or _evidence(review, site), wishes, lambda share: told("", share)),
            fault,
        )

    # What comes of it

    def take(self, found: Plan) -> None:
        """Show the answer."""
        self.show_busy(False)
        self.told.say(None, "")
        self.told.hide()
        self.answer = PlanAnswer(found)
        scrolled = Scrolled(self.answer, tr("Answer"))
        self._right.removeWidget(self._answered)
        self._answered.hide()
        self._answered.deleteLater()
        self._answered = scrolled
        self._right.addWidget(scrolled, 1)
        for button in (self.export, self.copy, self.print):
            button.setEnabled(True)

    def save_picture(self, name: str) -> None:
        """Write the whole answer as PNG."""
        try:
            export.save(self.answer, name)
        except HeadraceError as error:
            self.fail(str(error))
            return
        self.told.show()
        self.told.say(None, str(Phrase("Written: {name}", name=Path(name).name)))

    def fail(self, line: str) -> None:
        """Tell what went wrong, in the form's words."""
        for options, words in _OPTIONS.items():
            line = line.replace(options, words)
        super().fail(line)

    def show_busy(self, busy: bool) -> None:
        """Meanwhile nothing else is worked out, and no answer goes anywhere."""
        super().show_busy(busy)
        self.told.show()
        self.begin.setEnabled(not busy)
        for button in (self.export, self.copy, self.print):
            button.setEnabled(self.answer is not None and not busy)


def _evidence(review: Review | None, site: Site) -> Evidence | None:
    """What a recording tells, as it stands."""
    if review is None:
        return None
    fuel = review.fuel
    curve = fuel.curve or fuel_curve(site)
    return Evidence(review.minutes.copy(), review.learned, review.battery, curve, fuel.tank)
