"""How the window looks: theme, language, size of text, motion, full screen; each is remembered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QWidget

from desktop.window import language
from desktop.window.style import fonts, theme

if TYPE_CHECKING:
    from desktop.window.board.board import Board
    from desktop.window.menus import Menus
    from desktop.window.settings import Settings


class Appearance:
    """The part of the main window that is told how to look."""

    settings: Settings
    board: Board
    menus: Menus

    def set_theme(self, name: str) -> None:
        """One of `theme.THEMES`."""
        self.settings.theme = name
        self.dress()

    def set_language(self, name: str) -> None:
        """One of `language.LANGUAGES`. What is shown stays, in other words."""
        self.settings.language = name
        language.apply(name)
        self.make_anew()

    def set_text_scale(self, scale: float) -> None:
        """One of `fonts.TEXT_SCALES`."""
        self.settings.text_scale = scale
        fonts.set_text_scale(scale)
        for part in self.findChildren(QWidget):
            # Some kinds of buttons keep the size that their old font needed.
            part.updateGeometry()
        self.menus.show_choices(self.settings)

    def shift_text_scale(self, steps: int) -> None:
        """Larger or smaller by steps."""
        scales = fonts.TEXT_SCALES
        index = scales.index(self.settings.text_scale) + steps
        self.set_text_scale(scales[min(max(index, 0), len(scales) - 1)])

    def set_motion(self, moving: bool) -> None:
        """Whether what flows may be drawn moving."""
        self.settings.motion = moving
        self.board.set_motion(moving)
        self.menus.show_choices(self.settings)

    def set_full_screen(self, full: bool) -> None:
        """The whole screen, or a window."""
        if full:
            self.showFullScreen()
        else:
            self.showNormal()

    def dress(self) -> None:
        """Show the theme that is chosen, or the system's where that is the choice."""
        self.board.set_theme(theme.apply(self.settings.theme))
        self.menus.show_choices(self.settings)

    def changeEvent(self, event: QEvent) -> None:
        """Full screen may be left by other ways than ours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.WindowStateChange:
            self.menus.full.setChecked(self.isFullScreen())
