"""The palette's colours as they are drawn in trends: thin lines need more contrast than broad water."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from PySide6.QtGui import QColor

from desktop.picture.palette import THEMES, contrast

_LEAST_CONTRAST = 3.0
"""Of what is not text, against its ground (WCAG 2.2, success criterion 1.4.11)."""

_STEPS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
_ANOTHER_SHARE = 0.45
"""How far a second curve of a role (NAME_2, NAME_dc) is moved towards the colour of text."""

_FAINT = frozenset({"ground", "panel", "line", "strong_line", "bed"})


@dataclass(frozen=True, slots=True)
class TrendColours:
    """Colours by role, in one theme (`light` or `dark`)."""

    theme: str

    def __call__(self, role: str) -> QColor:
        return QColor(_hex(self.theme, role))

    def mixed(self, role: str, share: float) -> QColor:
        """A role's colour laid over the ground at this share, opaque: that is drawn far quicker."""
        return _between(THEMES[self.theme]["ground"], _hex(self.theme, role), share)


@cache
def _hex(theme: str, role: str) -> str:
    colours = THEMES[theme]
    if role in _FAINT:
        return colours[role]
    if role in colours.colours:
        towards = (_between(colours[role], colours["text"], share).name() for share in _STEPS)
        return next(each for each in towards if contrast(each, colours["ground"]) >= _LEAST_CONTRAST)
    whole, _, part = role.rpartition("_")
    if whole not in colours.colours:
        return colours["muted"]
    return _between(_hex(theme, whole), colours["muted" if part == "3" else "text"], _ANOTHER_SHARE).name()


@cache
def _between(one: str, other: str, share: float) -> QColor:
    pairs = zip(QColor(one).getRgb()[:3], QColor(other).getRgb()[:3], strict=True)
    return QColor(*(round((1 - share) * a + share * b) for a, b in pairs))
