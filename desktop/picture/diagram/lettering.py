"""Text that fits: shortened, made smaller or left out, but never laid over anything."""

from __future__ import annotations

from collections.abc import Sequence

from desktop.picture.diagram.shapes import Box, Drawing, Measure, Text

_SEPARATOR = " · "
_LEADING = 0.08
"""Space between two lines, as a share of a line's height."""


def shortened(text: str, room: float, size: float, bold: bool, measure: Measure) -> str:
    """The text, or as much of it as has room before an ellipsis; empty where not even three letters have."""
    if measure(text, size, bold)[0] <= room:
        return text
    for kept in range(len(text) - 1, 2, -1):
        cut = text[:kept].rstrip() + "…"
        if measure(cut, size, bold)[0] <= room:
            return cut
    return ""


def largest(text: str, room: float, sizes: Sequence[float], bold: bool, measure: Measure) -> float | None:
    """The first of these sizes in which the text has room; numbers are never cut."""
    return next((size for size in sizes if measure(text, size, bold)[0] <= room), None)


def packed(parts: Sequence[str], lines: int, room: float, size: float, measure: Measure) -> list[str]:
    """Parts put together to at most this many lines. A part without room is left out, and all after it."""
    found: list[str] = []
    for part in parts:
        joined = f"{found[-1]}{_SEPARATOR}{part}" if found else part
        if found and measure(joined, size, False)[0] <= room:
            found[-1] = joined
        elif len(found) < lines and measure(part, size, False)[0] <= room:
            found.append(part)
        else:
            break
    return found


def stacked(
    drawing: Drawing, lines: Sequence[Text], area: Box, middle: float, measure: Measure
) -> list[Text]:
    """Put lines below one another into an area, around a middle as far as the area allows.

    The boxes of the lines are made here; lines that have no room are left out from the end. Returns those put.
    """
    heights = [measure(line.text, line.size, line.bold)[1] * (1 + _LEADING) for line in lines]
    while heights and sum(heights) > area.height:
        heights.pop()
    top = min(max(middle - sum(heights) / 2, area.top), area.bottom - sum(heights))
    put: list[Text] = []
    for line, high in zip(lines, heights, strict=False):
        box = Box(area.left, top, area.right, top + high)
        put.append(placed(line, box, measure))
        top += high
    drawing.texts += put
    return put


def placed(line: Text, room: Box, measure: Measure) -> Text:
    """The line with its own box at its side of a room, in the middle of its height."""
    wide, high = measure(line.text, line.size, line.bold)
    left = room.left
    if line.align != "left":
        left = room.right - wide if line.align == "right" else (room.left + room.right - wide) / 2
    top = (room.top + room.bottom - high) / 2
    box = Box(left, top, left + wide, top + high)
    return Text(line.text, box, line.role, line.size, line.bold, line.align, line.ground, line.of)


def put_line(drawing: Drawing, line: Text, room: Box, measure: Measure) -> Text | None:
    """Put one line into a room if it fits whole and no other text is there; what was put."""
    wide, high = measure(line.text, line.size, line.bold)
    if not line.text or wide > room.width + 0.01 or high > room.height + 0.01:
        return None
    put = placed(line, room, measure)
    if any(put.box.meets(other.box) for other in drawing.texts):
        return None
    drawing.texts.append(put)
    return put
