"""The colours of trends as Qt's."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtGui import QColor

from desktop.picture.trends.colours import mixed_colour, trend_colour


@dataclass(frozen=True, slots=True)
class TrendColours:
    """Colours by role, in one theme (`light` or `dark`)."""

    theme: str

    def __call__(self, role: str) -> QColor:
        return QColor(trend_colour(self.theme, role))

    def mixed(self, role: str, share: float) -> QColor:
        """A role's colour laid over the ground at this share, opaque: that is drawn far quicker."""
        return QColor(mixed_colour(self.theme, role, share))
