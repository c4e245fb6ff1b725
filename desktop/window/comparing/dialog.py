"""The window of a comparison: which two at the top, what changed below, worked out beside both."""

from __future__ import annotations

import json
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from desktop.comparison.as_json import comparison_json
from desktop.comparison.as_text import comparison_text
from desktop.comparison.comparison import Comparison, compare
from desktop.comparison.table import summary
from desktop.window.comparing.choice import Choice, choices_of
from desktop.window.comparing.other import Other, read_other
from desktop.window.comparing.page import ComparisonPage
from desktop.window.comparing.sides import Sides
from desktop.window.opening import Ready
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.text import Text
from desktop.window.parts.work_dialog import WorkDialog
from desktop.words import Phrase, template, tr
from recordings.errors import HeadraceError
from recordings.files import write_whole

_FAULT = template("They can't be compared: a fault inside the program ({fault}).")


class CompareDialog(WorkDialog):
    """Compares what is open.

    other_asked  the user wants to choose another recording
    save_asked   the user wants to choose where the comparison goes
    """

    other_asked = Signal()
    save_asked = Signal()

    def __init__(self, ready: Ready, other: Other | None = None, parent: QWidget | None = None) -> None:
        super().__init__("comparing", parent)
        self.setWindowTitle(tr("Compare"))
        self.ready, self.other = ready, other
        self.page: ComparisonPage | None = None
        self._make()
        self._lay_out()
        self._offer()

    # What is compared

    def show_ready(self, ready: Ready) -> None:
        """Something else is open, or the same with another sheet or a correction."""
        if ready.review is self.ready.review:
            return
        self.ready = ready
        self._offer()

    def fetch(self, paths: tuple[Path, ...]) -> None:
        """Read another recording in a thread, and compare with it."""
        ready = self.ready
        self.show_busy(True)
        self.told.say(None, tr("Reading"))
        self.worker.begin(lambda progress: read_other(paths, ready, progress), _FAULT)

    def choose(self, chosen: tuple[int, int]) -> None:
        """Compare these two of `sides.choices`."""
        self.sides.show_choices(self.sides.choices, chosen)
        self.work()

    def work(self) -> None:
        """Compare what is chosen, in a thread. What is shown stays until then."""
        both = self.sides.both()
        if both is None:
            self.worker.stop()
            self.show_busy(False)
            self.page = None
            self._show_what_to_do()
            self._offer_export()
            return
        before, after = both
        self.worker.begin(lambda _: _compared(before, after), _FAULT)

    def _offer(self) -> None:
        reviews = [self.ready.review] + ([] if self.other is None else [self.other.review])
        self.sides.show_choices(choices_of(reviews))
        self.work()

    def _show_what_to_do(self) -> None:
        if len(self.sides.choices) > 1:
            line = tr("Before and after are one and the same: choose another.")
        else:
            line = tr(
                "Choose another recording of this site: from before a setting was changed, or from after."
            )
        self.told.say(None, line)
        how = tr(
            "Shown is then what was set otherwise, and what changed by more than chance while the generator ran. "
            "The earlier recording stands before the later one. One without a site sheet of its own is read with "
            "the sheet of the one that is open. Of a recording with several charge sessions, two can be compared."
        )
        text = Text(how, wrap=True, tone="muted")
        text.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._show(text)
        self.sides.fetch.setFocus()

    # What comes of it

    def take(self, found: Other | Comparison) -> None:
        """Show what changed, or compare with what was read."""
        self.show_busy(False)
        if isinstance(found, Other):
            self.other = found
            self._offer()
            return
        self.told.say(None, " ".join(map(str, summary(found))))
        lent = (
            self.other is not None
            and self.other.lent
            and self.other.review in (found.a.review, found.b.review)
        )
        self.page = ComparisonPage(found, self.other.review.recording.provenance.name if lent else "")
        self._show(Scrolled(self.page, tr("What changed")))
        self._offer_export()

    def copy_text(self) -> None:
        """Put the comparison on the clipboard as text."""
        QGuiApplication.clipboard().setText(comparison_text(self.page.found) + "\n")

    def save(self, name: str) -> None:
        """Write the comparison: JSON by the name's ending, else text."""
        found = self.page.found
        if name.lower().endswith(".json"):
            text = json.dumps(comparison_json(found), indent=1, ensure_ascii=False, allow_nan=False)
        else:
            text = comparison_text(found)
        try:
            write_whole(name, f"{text}\n".encode())
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return
        self.told.say(None, str(Phrase("Written: {name}", name=Path(name).name)))

    def show_busy(self, busy: bool) -> None:
        """Meanwhile nothing else can be chosen."""
        super().show_busy(busy)
        self.sides.setEnabled(not busy)

    def _show(self, answer: QWidget) -> None:
        self._column.replaceWidget(self._answer, answer)
        self._answer.hide()
        self._answer.deleteLater()
        self._answer = answer

    def _offer_export(self) -> None:
        for button in (self.copy, self.save_button):
            button.setEnabled(self.page is not None)

    # Putting together

    def _make(self) -> None:
        self.sides = Sides()
        self.sides.changed.connect(self.work)
        self.sides.other_asked.connect(self.other_asked)
        self.copy = QPushButton(tr("&Copy as text"))
        self.copy.clicked.connect(self.copy_text)
        self.save_button = QPushButton(tr("&Save…"))
        self.save_button.clicked.connect(self.save_asked)
        self.close_button = QPushButton(tr("Close"))
        self.close_button.clicked.connect(self.reject)
        for button in (self.copy, self.save_button, self.close_button):
            button.setAutoDefault(False)

    def _lay_out(self) -> None:
        self._answer = QWidget()
        working = QHBoxLayout()
        working.addWidget(self.bar, 1)
        working.addWidget(self.cancel)
        buttons = QHBoxLayout()
        buttons.addWidget(self.copy)
        buttons.addWidget(self.save_button)
        buttons.addStretch(1)
        buttons.addWidget(self.close_button)
        self._column = QVBoxLayout(self)
        self._column.setSpacing(10)
        self._column.addWidget(self.sides)
        self._column.addLayout(working)
        self._column.addWidget(self.told)
        self._column.addWidget(self._answer, 1)
        self._column.addLayout(buttons)
        self.show_busy(False)
        self._offer_export()
        self.resize(comfortable(self, 1200, 680))


def _compared(before: Choice, after: Choice) -> Comparison:
    return compare(before.review, after.review, before.session, after.session)
