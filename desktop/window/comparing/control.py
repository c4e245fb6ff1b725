"""Keeps the comparison's window together with what is open."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QFileDialog

from desktop.window.files import recordings_filter
from desktop.window.opening import dropped_paths
from desktop.words import tr

if TYPE_CHECKING:
    from desktop.window.comparing.dialog import CompareDialog
    from desktop.window.comparing.other import Other
    from desktop.window.main import MainWindow
    from desktop.window.opening import Ready


class Comparing(QObject):
    """One dialog for each window, made when it is first asked for."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.dialog: CompareDialog | None = None

    def show(self) -> CompareDialog | None:
        """Show it."""
        if self._window.ready is None:
            return None
        return self._shown(None)

    def follow(self, ready: Ready | None) -> None:
        """Something else is open. None: something that grows, which has no end to compare yet."""
        if self.dialog is None:
            return
        if ready is None:
            self.dialog.reject()
        else:
            self.dialog.show_ready(ready)

    def make_anew(self) -> None:
        """Another language is spoken: the same two are compared in other words."""
        before = self.dialog
        if before is not None:
            other, chosen = before.other, before.sides.chosen
            before.reject()
            self._shown(other).choose(chosen)

    def fetch(self, names: Sequence[str]) -> None:
        """Compare with these recordings, which belong together."""
        paths, _ = dropped_paths(names)
        if self.dialog is None or not paths:
            return
        self._window.settings.folder = str(Path(paths[0]).parent)
        self.dialog.fetch(tuple(paths))

    def _shown(self, other: Other | None) -> CompareDialog:
        if self.dialog is None:
            # Few compare, and what reckons with chance takes time to load.
            from desktop.window.comparing.dialog import CompareDialog

            dialog = self.dialog = CompareDialog(self._window.ready, other, self._window)
            dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
            dialog.other_asked.connect(self._ask_other)
            dialog.save_asked.connect(self._ask_save)
            dialog.finished.connect(self._forget)
        self.dialog.show()
        self.dialog.raise_()
        self.dialog.activateWindow()
        return self.dialog

    def _ask_other(self) -> None:
        filters = [recordings_filter(), tr("All files (*)")]
        dialog = self._window.file_dialog(tr("Compare with a recording"), filters)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
        dialog.filesSelected.connect(self.fetch)
        dialog.open()

    def _ask_save(self) -> None:
        filters = [tr("Text (*.txt)"), tr("JSON (*.json)")]
        dialog = self._window.file_dialog(tr("Save the comparison"), filters)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("txt")
        dialog.filterSelected.connect(
            lambda chosen: dialog.setDefaultSuffix("json" if "json" in chosen else "txt")
        )
        dialog.fileSelected.connect(lambda name: self.dialog and self.dialog.save(name))
        dialog.open()

    def _forget(self) -> None:
        self.dialog = None
