"""The dialog that edits a site sheet: a form by sections, reviewed at once on Apply, written on Save."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QListWidget,
    QMessageBox,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from desktop.sheet.editing import SheetDraft
from desktop.sheet.keys import SECTIONS
from desktop.site import Site
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.text import Elided
from desktop.window.parts.told import Told
from desktop.window.sheet.pages import ColumnsPage, pages
from desktop.window.style.look import look
from desktop.words import Phrase, tr
from recordings.errors import HeadraceError


class SheetDialog(QDialog):
    """Edits one sheet, of a recording that has these channels and is shown as reviewed with `shown`.

    applied        what is open is to be reviewed with this sheet (Site)
    columns_asked  the user wants to look at the columns
    """

    applied = Signal(object)
    columns_asked = Signal()

    def __init__(
        self,
        draft: SheetDraft,
        channels: Sequence[str] = (),
        writable: bool = True,
        shown: Site | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.draft = draft
        self.pages = pages(channels)
        self._shown_site = shown or draft.site()
        self._writable = writable
        name = draft.path.name if draft.path is not None else tr("Site sheet")
        self.setWindowTitle(str(Phrase("Site sheet {name}", name=name)))
        self._make()
        self._lay_out()
        self.show_draft(draft)

    # What the form says

    def show_draft(self, draft: SheetDraft) -> None:
        """Fill the form with what a sheet says."""
        self.draft = draft
        for page in self.pages.values():
            page.show_draft(draft)
        self._look()

    @property
    def changed(self) -> bool:
        """Whether there is something that isn't written yet."""
        return self._filled().changed or self._wrong() > 0

    def set_belongs(self, belongs: bool) -> None:
        """Whether what is open is what the sheet belongs to: only then it can be reviewed with it."""
        self._belongs = belongs
        self._look()

    def apply(self) -> bool:
        """Have what is open reviewed with the sheet as it is in the form. False where something is wrong."""
        if self._wrong():
            self._go_to_wrong()
            return False
        try:
            site = self._filled().site()
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return False
        if self._belongs and site != self._shown_site:
            self._shown_site = site
            self.applied.emit(site)
        self._look()
        return True

    def save(self) -> bool:
        """Write the sheet, and review what is open with it. False where that can't be."""
        if not self.apply():
            return False
        draft = self._filled()
        try:
            draft.save()
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return False
        self.draft = draft
        self._look()
        return True

    def reject(self) -> None:
        """Close; what isn't written yet is asked about, and if it is let go, the review is as it was."""
        if self._writable and self.changed:
            answer = self._ask()
            if answer == QMessageBox.StandardButton.Cancel:
                return
            if answer == QMessageBox.StandardButton.Save and not self.save():
                return
        saved = self.draft.site()
        if self._belongs and saved != self._shown_site:
            self._shown_site = saved
            self.applied.emit(saved)
        super().reject()

    # What is shown

    def _filled(self) -> SheetDraft:
        filled = self.draft.copy()
        for page in self.pages.values():
            page.put_into(filled)
        return filled

    def _wrong(self) -> int:
        return sum(page.wrong() for page in self.pages.values())

    def _look(self) -> None:
        """Say how things stand, and offer what can be done."""
        for row, (section, page) in enumerate(self.pages.items()):
            wrong = page.wrong()
            name = tr(SECTIONS[section])
            item = self.sections.item(row)
            item.setText(_marked(name, wrong))
            told = Phrase("{section}: {count} wrong", section=name, count=str(wrong))
            item.setData(Qt.ItemDataRole.AccessibleTextRole, str(told) if wrong else name)
        wrong = self._wrong()
        filled = self._filled()
        if wrong:
            self.told.say(
                "attend",
                str(
                    Phrase(
                        "Values that can't be right: {count}. What would be right stands beside them.",
                        count=str(wrong),
                    )
                ),
            )
        else:
            self.told.say(None, _standing(filled, self._writable))
        self.apply_button.setEnabled(self._belongs)
        self.save_button.setEnabled(self._writable)

    def _go_to_wrong(self) -> None:
        for row, page in enumerate(self.pages.values()):
            found = page.first_wrong()
            if found is not None:
                self.sections.setCurrentRow(row)
                found.widget.setFocus()
                return

    def _ask(self) -> QMessageBox.StandardButton:
        buttons = QMessageBox.StandardButton
        box = QMessageBox(
            QMessageBox.Icon.NoIcon,
            self.windowTitle(),
            tr("The site sheet was changed. Write the changes?"),
            buttons.Save | buttons.Discard | buttons.Cancel,
            self,
        )
        box.setDefaultButton(buttons.Save)
        return QMessageBox.StandardButton(box.exec())

    # Putting together

    def _make(self) -> None:
        self._belongs = True
        self.told = Told(1.0)
        self.sections = QListWidget()
        self.sections.setSpacing(2)
        self.sections.setAccessibleName(tr("Sections of the site sheet"))
        self.stack = QStackedWidget()
        for section, page in self.pages.items():
            self.sections.addItem(tr(SECTIONS[section]))
            self.stack.addWidget(Scrolled(page))
            page.changed.connect(self._look)
        self.sections.currentRowChanged.connect(self.stack.setCurrentIndex)
        self.sections.setCurrentRow(0)
        columns = self.pages["columns"]
        if isinstance(columns, ColumnsPage):
            columns.asked.connect(self.columns_asked)
        kinds = QDialogButtonBox.StandardButton
        self.buttons = QDialogButtonBox(kinds.Apply | kinds.Save | kinds.Close)
        self.apply_button, self.save_button = (
            self.buttons.button(kinds.Apply),
            self.buttons.button(kinds.Save),
        )
        self.apply_button.setText(tr("&Apply"))
        self.save_button.setText(tr("&Save"))
        self.buttons.button(kinds.Close).setText(tr("Close"))
        self.apply_button.clicked.connect(self.apply)
        self.save_button.clicked.connect(self.save)
        self.buttons.rejected.connect(self.reject)

    def _lay_out(self) -> None:
        self.file = Elided(str(self.draft.path or ""), tone="muted")
        middle = QHBoxLayout()
        middle.setSpacing(16)
        middle.addWidget(self.sections)
        middle.addWidget(self.stack, 1)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(self.told)
        column.addLayout(middle, 1)
        column.addWidget(self.file)
        column.addWidget(self.buttons)
        self.apply_button.setDefault(True)
        self._dress()
        look().changed.connect(self._dress)
        self.resize(comfortable(self, 860, 640))

    def _dress(self) -> None:
        metrics = self.fontMetrics()
        names = [_marked(tr(name), 88) for name in SECTIONS.values()]
        self.sections.setFixedWidth(max(metrics.horizontalAdvance(name) for name in names) + 24)


def _marked(section: str, wrong: int) -> str:
    """A section's name, with the number of its wrong values."""
    return f"{section} ◆ {wrong}" if wrong else section


def _standing(draft: SheetDraft, writable: bool) -> str:
    """How things stand where nothing is wrong."""
    if not writable:
        return tr("This sheet came along with a demo and stays as it is. Apply shows what a change would do.")
    if draft.changed:
        return tr("Changed and not written yet.")
    if draft.path is not None and not draft.path.exists():
        return tr("There is no site sheet yet: nothing is known of the plant but what the recording tells.")
    return tr("The sheet as it is written.")
