"""Keeps the site sheet's dialog together with what is open: one dialog, for one sheet, beside the window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal

from desktop.window.opening import Ready
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from desktop.sheet.editing import SheetDraft
    from desktop.window.sheet.dialog import SheetDialog


class SheetEditing(QObject):
    """Shows the dialog when it is asked for, and tells what the user wants of it.

    review_asked   review this with another sheet (Ready, Site)
    columns_asked  the user wants to look at the columns
    failed         the sheet can't be edited (one line)
    """

    review_asked = Signal(object, object)
    columns_asked = Signal()
    failed = Signal(str)

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._ready: Ready | None = None
        self.dialog: SheetDialog | None = None
        self._paths: tuple[object, ...] = ()

    def show_for(self, ready: Ready, writable: bool) -> None:
        """Show the sheet of what is open; where it is shown already, bring it to the front."""
        self._ready = ready
        if self.dialog is None:
            try:
                self.dialog = self._made(_draft(ready), ready, writable)
            except HeadraceError as error:
                self.failed.emit(str(error))
                return
            self._paths = ready.wanted.paths
        self.dialog.show()
        self.dialog.raise_()
        self.dialog.activateWindow()

    def follow(self, ready: Ready) -> None:
        """Something is shown: another recording, or the same with another sheet."""
        self._ready = ready
        if self.dialog is None:
            return
        belongs = ready.wanted is not None and ready.wanted.paths == self._paths
        if not belongs and not self.dialog.changed:
            self.dialog.reject()
            return
        self.dialog.set_belongs(belongs)
        if belongs and not self.dialog.changed:
            self._show_anew(ready)

    def _show_anew(self, ready: Ready) -> None:
        """The file may have been written by somebody else, such as whoever settles the columns."""
        try:
            draft = _draft(ready)
        except HeadraceError as error:
            self.failed.emit(str(error))
            return
        if self.dialog is not None and draft.table() != self.dialog.draft.table():
            self.dialog.show_draft(draft)

    def _made(self, draft: SheetDraft, ready: Ready, writable: bool) -> SheetDialog:
        # Few look at the sheet, and its form has many parts.
        from desktop.window.sheet.dialog import SheetDialog

        review = ready.review
        dialog = SheetDialog(draft, review.recording.channels, writable, review.site, self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.applied.connect(lambda site: self.review_asked.emit(self._ready, site))
        dialog.columns_asked.connect(self.columns_asked)
        dialog.finished.connect(self._forget)
        return dialog

    def _forget(self) -> None:
        self.dialog = None


def _draft(ready: Ready) -> SheetDraft:
    from desktop.sheet.editing import draft_for

    return draft_for(ready.wanted.paths, ready.wanted.site)
