"""Says what a pack would hold and what it would leave out, and writes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from desktop.pack.names import REPORT
from desktop.packing import check_target, contents_of
from desktop.window.opening import Ready, Wanted
from desktop.window.packing.listing import goes_along, left_out, rows_of, size_text
from desktop.window.parts.panel import Panel
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.sideways import Sideways
from desktop.window.parts.text import Text
from desktop.window.parts.word_table import WordTable
from desktop.window.parts.work_dialog import WorkDialog
from desktop.window.working import Progress
from desktop.words import Phrase, template, tr
from recordings.errors import HeadraceError

_REPORTED = 0.4


class PackDialog(WorkDialog):
    """Packs what is shown. HeadraceError where something that belongs to it can't be read.

    place_asked  the user wants to choose where the pack goes
    """

    place_asked = Signal()

    def __init__(self, ready: Ready, parent: QWidget | None = None) -> None:
        super().__init__("packing", parent)
        self._ready = ready
        self._wanted: Wanted = ready.wanted
        self.contents = contents_of(self._wanted.paths, self._wanted.site, self._wanted.day_first)
        self.setWindowTitle(tr("Pack to take along"))
        self._make()
        self._lay_out()
        self.show_busy(False)
        self.told.say(None, tr("All that is open in one file, which opens like a recording."))

    @property
    def usual_name(self) -> str:
        """What to call the pack, unless the user has a better name."""
        return f"{self._wanted.paths[0].stem}.zip"

    def write(self, name: str) -> None:
        """Write the pack there, in a thread."""
        target = Path(name)
        try:
            check_target(target, self._wanted.paths)
        except HeadraceError as error:
            self.fail(str(error))
            return
        self.show_busy(True)
        self.told.say(None, tr("Packing"))
        work = _work(self._ready, target, self.report.isChecked())
        self.worker.begin(work, template("The pack can't be written: a fault inside the program ({fault})."))

    def take(self, found: tuple[Path, int]) -> None:
        """Tell what was written."""
        target, length = found
        self.show_busy(False)
        told = Phrase("Written: {name}, {size}.", name=target.name, size=size_text(length))
        self.told.say(None, str(told))
        self.close_button.setFocus()

    def show_busy(self, busy: bool) -> None:
        """Meanwhile nothing else can be packed."""
        super().show_busy(busy)
        self.begin.setEnabled(not busy)
        self.report.setEnabled(not busy)

    # Putting together

    def _make(self) -> None:
        self.table = WordTable(tr("In the pack"))
        self.table.show_rows((tr("What"), tr("Name"), tr("How much")), rows_of(self.contents), {2})
        self.report = QCheckBox(tr("With a &report: a page to read without this program"))
        self.report.setChecked(True)
        self.report.setToolTip(REPORT)
        self.begin = QPushButton(tr("&Write the pack…"))
        self.begin.setDefault(True)
        self.begin.clicked.connect(self.place_asked)
        self.close_button = QPushButton(tr("Close"))
        self.close_button.clicked.connect(self.reject)

    def _lay_out(self) -> None:
        inside = QWidget()
        lines = QVBoxLayout(inside)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setSpacing(10)
        held = Panel(tr("In the pack"))
        held.body.addWidget(Sideways(self.table, self.table.accessibleName()))
        held.body.addWidget(self.report)
        lines.addWidget(held)
        lines.addWidget(_panel(tr("Left out"), left_out(self.contents, self._ready)))
        lines.addWidget(_panel(tr("Look before you send it"), goes_along(self.contents)))
        lines.addStretch(1)
        buttons = QHBoxLayout()
        buttons.addWidget(self.begin)
        buttons.addWidget(self.cancel)
        buttons.addStretch(1)
        buttons.addWidget(self.close_button)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(self.told)
        column.addWidget(self.bar)
        column.addWidget(Scrolled(inside, tr("What the pack holds")), 1)
        column.addLayout(buttons)
        self.resize(comfortable(self, 620, 480))


def _panel(title: str, told: list[Phrase]) -> Panel:
    panel = Panel(title)
    for each in told:
        panel.body.addWidget(Text(str(each), wrap=True))
    return panel


def _work(ready: Ready, target: Path, reported: bool) -> Callable[[Progress], tuple[Path, int]]:
    """What writes a pack of what is shown, and gives its place and its length in bytes."""

    def work(progress: Progress) -> tuple[Path, int]:
        # What writes pages is loaded only where one is wanted.
        from desktop.pack.writing import write_pack

        wanted, start = ready.wanted, _REPORTED if reported else 0.0
        contents = contents_of(wanted.paths, wanted.site, wanted.day_first)
        if reported:
            from desktop.report.html import report_html

            progress(tr("Writing the report"), 0.0)
            # Whoever opens the pack sees the recording as it was read, and so does the page.
            contents = replace(contents, report=report_html((ready.recorded or ready).review))
        packing = tr("Packing")
        progress(packing, start)
        write_pack(target, contents, lambda done: progress(packing, start + (1 - start) * done))
        return target, target.stat().st_size

    return work
