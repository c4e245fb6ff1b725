"""Keeps the plan's window together with what is open."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QFileDialog

from desktop.site import Site
from desktop.words import tr
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from desktop.window.main import MainWindow
    from desktop.window.opening import Ready
    from desktop.window.plan.dialog import PlanDialog


class Planning(QObject):
    """One dialog for each window, made when it is first asked for."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.dialog: PlanDialog | None = None

    def show(self) -> PlanDialog:
        """Show it; from a recording it begins at once with what is usual."""
        fresh = self.dialog is None
        if self.dialog is None:
            # Few plan, and an outlook has many parts.
            from desktop.window.plan.dialog import PlanDialog

            dialog = self.dialog = PlanDialog(self._window)
            dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
            dialog.site_asked.connect(self._ask_site)
            dialog.export_asked.connect(self._ask_export)
            dialog.finished.connect(self._forget)
            ready = self._window.ready
            if ready is not None:
                dialog.show_review(ready.review)
            else:
                dialog.show_site(Site())
        self.dialog.show()
        self.dialog.raise_()
        self.dialog.activateWindow()
        if fresh and self._window.ready is not None:
            self.dialog.work()
        return self.dialog

    def follow(self, ready: Ready) -> None:
        """Something else is open: what is planned next is planned from that."""
        if self.dialog is not None:
            self.dialog.show_review(ready.review)

    def make_anew(self) -> None:
        """Another language is spoken."""
        if self.dialog is not None:
            self.dialog.reject()
            self.show()

    def _ask_site(self) -> None:
        dialog = self._window.file_dialog(
            tr("Plan with a site sheet"), [tr("Site sheets (*.toml)"), tr("All files (*)")]
        )
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self.use_site)
        dialog.open()

    def use_site(self, name: str) -> None:
        """Plan with the sheet of a file."""
        if self.dialog is None:
            return
        try:
            site = Site.load(name)
        except HeadraceError as error:
            self.dialog.told.show()
            self.dialog.told.say("attend", str(error))
            return
        self.dialog.show_site(site)
        self.dialog.told.show()
        self.dialog.told.say(None, site.site.name or Path(name).name)

    def _ask_export(self) -> None:
        dialog = self._window.file_dialog(tr("Export picture"), [tr("Pictures (*.png)")])
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("png")
        dialog.fileSelected.connect(self.dialog.save_picture)
        dialog.open()

    def _forget(self) -> None:
        self.dialog = None
