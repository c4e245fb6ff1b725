"""Keeps what is looked into together with what is open, and brings corrections into the window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt

from desktop.window.evidence.beforehand import Beforehand
from desktop.window.opening import Ready
from desktop.words import tr
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from desktop.diagnosis.finding import Finding
    from desktop.diagnosis.suspects import Suspect
    from desktop.site import ColumnRule
    from desktop.window.evidence.dialog import LookDialog
    from desktop.window.main import MainWindow


class LookInto(QObject):
    """One dialog for each window, made when it is first asked for."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.dialog: LookDialog | None = None
        self._beforehand = Beforehand(self)

    def close(self) -> None:
        """The window ends: wait until nothing more is looked into."""
        self._beforehand.close()

    def show_page(self, key: str) -> None:
        """Show one of `dialog.PAGES`."""
        if self._window.ready is None:
            return
        self._shown().show_page(key)

    def show_finding(self, finding: Finding) -> None:
        """Show what led to a finding."""
        if self._window.ready is None:
            return
        self._shown().show_finding(finding)

    def follow(self, ready: Ready) -> None:
        """Something else is shown, or the same with another sheet or a correction."""
        if self.dialog is not None:
            self.dialog.show_review(ready)
        else:
            self._beforehand.give_up()
        self._window.board.corrected.show_ready(ready, self._writable(ready))

    def connect_parts(self) -> None:
        """The window has other parts, maybe in another language."""
        window = self._window
        window.board.findings.opened.connect(self.show_finding)
        window.board.corrected.back_asked.connect(self.back)
        window.board.corrected.save_asked.connect(self.save)
        if self.dialog is not None:
            page = self.dialog.page
            self.dialog.reject()
            self.show_page(page)

    # Corrections

    def try_out(self, suspect: Suspect) -> None:
        """Review what is open with a suspect put right."""
        ready = self._window.ready
        if ready is not None:
            self._window.opener.review_corrected(ready, suspect)

    def back(self) -> None:
        """Show what is open as it was recorded."""
        ready = self._window.ready
        if ready is not None and ready.recorded is not None:
            self._window.show_again(ready.recorded)

    def save(self) -> None:
        """Write what was put right into the site sheet, and read the recording with it."""
        ready = self._window.ready
        if ready is None or ready.recorded is None or ready.wanted is None:
            return
        # Few write a sheet, and reading it takes time that every start would pay.
        from desktop.sheet.editing import draft_for

        rules = _rules(ready)
        if rules is None:
            line = tr("The site sheet has no rule that puts this right: it has to be mended at the meter.")
            self._window.notice.show_error(line)
            return
        wanted = ready.wanted
        try:
            draft = draft_for(wanted.paths, wanted.site)
            draft.set_rules(draft.site().columns | rules)
            site = draft.save()
        except HeadraceError as error:
            self._window.notice.show_error(str(error))
            return
        self._window.opener.review_again(ready.recorded, site)

    def _shown(self) -> LookDialog:
        if self.dialog is None:
            # Few look into it at once, and its pages have many parts.
            from desktop.window.evidence.dialog import LookDialog

            window = self._window
            dialog = self.dialog = LookDialog(self._beforehand, window)
            dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
            dialog.moved.connect(self._go)
            dialog.tried.connect(self.try_out)
            dialog.finished.connect(self._forget)
            dialog.show_review(window.ready)
        self.dialog.show()
        self.dialog.raise_()
        self.dialog.activateWindow()
        return self.dialog

    def _go(self, instant: int) -> None:
        # The board may be another one by now.
        self._window.board.cursor_of_time.move(instant)

    def _forget(self) -> None:
        self.dialog = None

    def _writable(self, ready: Ready) -> bool:
        return ready.wanted is not None and not self._window.is_demo(ready.wanted)


def _rules(ready: Ready) -> dict[str, ColumnRule] | None:
    """The rules that say all that was put right, one after the other; None where none can say it."""
    from desktop.diagnosis.suspects import column_rules

    before = ready.recorded.review
    site, rules = before.site, {}
    for suspect in ready.tried:
        found = column_rules(before.recording, site, suspect)
        if found is None:
            return None
        rules |= found
        site = site.model_copy(update={"columns": site.columns | found})
    return rules
