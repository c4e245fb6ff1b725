"""Tips of texts that somebody else wrote."""

from __future__ import annotations

import html


def plain_tip(text: str) -> str:
    """A tip that shows the text as it is: what looks like markup in it would be followed otherwise."""
    return f"<qt>{html.escape(text).replace(chr(10), '<br>')}</qt>" if text else ""
