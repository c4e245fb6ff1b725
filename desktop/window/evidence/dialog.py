"""A window beside the main one, with a page for everything that can be looked into."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QListWidget,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from desktop.diagnosis.finding import Finding
from desktop.window.evidence.battery import BatteryPage
from desktop.window.evidence.beforehand import Beforehand
from desktop.window.evidence.causes import PAGE_OF, CausesPage
from desktop.window.evidence.fuel import FuelPage
from desktop.window.evidence.limit import LimitPage
from desktop.window.evidence.meters import MetersPage
from desktop.window.evidence.page import LookPage
from desktop.window.evidence.settings import SettingsPage
from desktop.window.opening import Ready
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.times import Times
from desktop.window.style.look import look
from desktop.words import Phrase, template, tr

PAGES: dict[str, str] = {
    "causes": template("Causes"),
    "meters": template("Meters"),
    "settings": template("Settings"),
    "limit": template("Input limit"),
    "battery": template("Battery"),
    "fuel": template("Fuel"),
}
"""The pages and what they are called, in the order in which they are shown."""

_ANEW_MS = 2000
_ROW = 1.7


class LookDialog(QDialog):
    """Shows what a review found, page by page. It follows what grows, and stays while the main window is used.

    beforehand  makes the judgements that take long, and outlives the dialog: nobody waits for them on closing it

    moved  the user wants to go to an instant (int, UTC nanoseconds)
    tried  the user wants to see the recording with a suspect put right (Suspect)
    """

    moved = Signal(object)
    tried = Signal(object)

    def __init__(self, beforehand: Beforehand, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Look into it"))
        self.ready: Ready | None = None
        self._times = Times()
        self.causes, self.meters = CausesPage(), MetersPage()
        self.pages: dict[str, LookPage] = {
            "causes": self.causes,
            "meters": self.meters,
            "settings": SettingsPage(),
            "limit": LimitPage(),
            "battery": BatteryPage(),
            "fuel": FuelPage(),
        }
        self.meters.tried.connect(self.tried)
        self.beforehand = beforehand
        self.beforehand.came.connect(self.refresh)
        self._lay_out()
        self._anew = QTimer(self)
        self._anew.setInterval(_ANEW_MS)
        self._anew.timeout.connect(self.refresh)

    def _lay_out(self) -> None:
        self.names = QListWidget()
        self.names.setAccessibleName(tr("What can be looked into"))
        self.stack = QStackedWidget()
        for key, page in self.pages.items():
            self.names.addItem(tr(PAGES[key]))
            self.stack.addWidget(Scrolled(page, tr(PAGES[key])))
            page.moved.connect(self.moved)
            page.opened.connect(self.show_page)
        for number, key in enumerate(self.pages, start=1):
            # The same keys as in the menu of the main window, which are heard only there.
            turn = QShortcut(QKeySequence(f"Ctrl+{number}"), self)
            turn.activated.connect(lambda key=key: self.show_page(key))
        self.names.currentRowChanged.connect(self._turn)
        middle = QHBoxLayout()
        middle.setSpacing(16)
        middle.addWidget(self.names)
        middle.addWidget(self.stack, 1)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.button(QDialogButtonBox.StandardButton.Close).setText(tr("Close"))
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addLayout(middle, 1)
        column.addWidget(buttons)
        self._dress()
        look().changed.connect(self._dress)
        self.resize(comfortable(self, 900, 700))

    @property
    def page(self) -> str:
        """The page that is shown."""
        return list(self.pages)[max(0, self.names.currentRow())]

    def show_review(self, ready: Ready) -> None:
        """Show what this review found."""
        self.ready = ready
        self.beforehand.look_at(ready.review)
        self.refresh()

    def show_page(self, key: str) -> None:
        """Turn to a page."""
        self.names.setCurrentRow(list(self.pages).index(key))

    def show_finding(self, finding: Finding) -> None:
        """Turn to where there is most to see of a finding."""
        self.causes.show_finding(finding)
        self.show_page(PAGE_OF.get(finding.kind, "causes"))

    def refresh(self) -> None:
        """Show what is known by now."""
        if self.ready is None:
            return
        time, zone = self.ready.review.recording.time, self.ready.review.site.zone
        self._times = Times(int(time[0]), int(time[-1]), zone)
        for row, (key, page) in enumerate(self.pages.items()):
            if not all(map(self.beforehand.knows, page.needs)):
                page.wait()
            elif key == self.page:
                page.show_ready(self.ready, self._times)
            else:
                page.ready = self.ready
            self._name(row, key, page.attention())

    def showEvent(self, event: QShowEvent) -> None:
        """Look again now and then, while it is seen."""
        super().showEvent(event)
        self._anew.start()
        self.names.setFocus(Qt.FocusReason.OtherFocusReason)

    def hideEvent(self, event: QHideEvent) -> None:
        """Nothing is looked at that nobody sees."""
        super().hideEvent(event)
        self._anew.stop()

    def done(self, result: int) -> None:
        """Closed: the pages draw nothing more."""
        for page in self.pages.values():
            page.end_work()
        super().done(result)

    def _turn(self, row: int) -> None:
        self.stack.setCurrentIndex(row)
        self.refresh()

    def _name(self, row: int, key: str, count: int) -> None:
        name = tr(PAGES[key])
        item = self.names.item(row)
        item.setText(_marked(name, count))
        told = Phrase("{page}: {count} to look at", page=name, count=str(count))
        item.setData(Qt.ItemDataRole.AccessibleTextRole, str(told) if count else name)

    def _dress(self) -> None:
        metrics = self.names.fontMetrics()
        widest = max(metrics.horizontalAdvance(_marked(tr(name), 88)) for name in PAGES.values())
        self.names.setFixedWidth(widest + 24)
        for row in range(self.names.count()):
            self.names.item(row).setSizeHint(QSize(0, round(_ROW * metrics.lineSpacing())))


def _marked(name: str, count: int) -> str:
    """A page's name, with the number of things on it that want attention."""
    return f"{name} ◆ {count}" if count else name
