"""Boxes over the window with something to read: about, cautions, the review as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog

if TYPE_CHECKING:
    from desktop.window.opening import Ready


class Boxes:
    """The part of the main window that shows them."""

    ready: Ready | None

    def show_about(self) -> QDialog:
        """What this is."""
        # Few look, and the versions take time to gather.
        from desktop.window.about import AboutBox

        return self.shown_dialog(AboutBox(self))

    def show_cautions(self) -> QDialog:
        """What can hurt."""
        from desktop.window.about import CautionsBox

        return self.shown_dialog(CautionsBox(self))

    def show_details(self) -> QDialog:
        """The review as text, and how the recording was read."""
        from desktop.window.details import DetailsBox

        return self.shown_dialog(DetailsBox(self.ready.review, self))
