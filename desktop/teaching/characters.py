"""Which characters a note may hold: what is seen, and what joins emoji; nothing that steers how text is shown."""

from __future__ import annotations

import unicodedata

_REFUSED = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
"""Unicode's general categories of control and format characters, half characters, and separators of lines."""

_JOINING = frozenset({0x200C, 0x200D, *range(0xE0020, 0xE0080)})
"""What joins emoji into one, or letters in some scripts; and the tags of which flags of regions are made."""


def refused_character(text: str) -> str:
    """The name of the first character that a note may not hold, such as "U+202E RIGHT-TO-LEFT OVERRIDE"; or ""."""
    for character in text:
        if unicodedata.category(character) in _REFUSED and ord(character) not in _JOINING:
            return f"U+{ord(character):04X} {unicodedata.name(character, '')}".rstrip()
    return ""
