"""The palette's colours as they are drawn in trends: thin lines need more contrast than broad water."""

from __future__ import annotations

from functools import cache

from desktop.picture.palette import THEMES, contrast, laid_over

_LEAST_CONTRAST = 3.0
"""Of what is not text, against its ground (WCAG 2.2, success criterion 1.4.11)."""

_STEPS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
_ANOTHER_SHARE = 0.45
"""How far a second curve of a role (NAME_2, NAME_dc) is moved towards the colour of text."""

_FAINT = frozenset({"ground", "panel", "line", "strong_line", "bed"})


@cache
def trend_colour(theme: str, role: str) -> str:
    """A role's colour in a theme (`light` or `dark`), "#rrggbb"."""
    colours = THEMES[theme]
    if role in _FAINT:
        return colours[role]
    if role in colours.colours:
        towards = (laid_over(colours["text"], colours[role], share) for share in _STEPS)
        return next(each for each in towards if contrast(each, colours["ground"]) >= _LEAST_CONTRAST)
    whole, _, part = role.rpartition("_")
    if whole not in colours.colours:
        return colours["muted"]
    return laid_over(colours["muted" if part == "3" else "text"], trend_colour(theme, whole), _ANOTHER_SHARE)


@cache
def mixed_colour(theme: str, role: str, share: float) -> str:
    """A role's colour laid over the ground at this share, opaque."""
    return laid_over(trend_colour(theme, role), THEMES[theme]["ground"], share)
