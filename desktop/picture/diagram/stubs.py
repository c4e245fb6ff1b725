"""Power that doesn't add up: a hatched stub at the bus where it is missing, with its uncertainty."""

from __future__ import annotations

from dataclasses import replace

from desktop.picture.diagram.lettering import put_line
from desktop.picture.diagram.shapes import (
    Area,
    Box,
    Current,
    Drawing,
    Line,
    Mark,
    Measure,
    Path,
    Step,
    Text,
)
from desktop.review.moment import GapNow
from desktop.words import Phrase, template

STUB_PAD = 3.0
"""Pixels between a stub and the ends of its room."""

_MISSING = template("{unaccounted:W±} goes missing")
_UNSEEN = template("{unaccounted:W±} more leaves than enters")
_TORN = template("{unaccounted:W±} goes missing (not to scale)")
_TORN_UNSEEN = template("{unaccounted:W±} more leaves than enters (not to scale)")
_SHORT = template("{unaccounted:W±}")

_TELLS_NOTHING, _LEAST_W = 0.25, 500.0
"""Where the standard deviation of what is unaccounted is more than that share of the largest power, and more than
meters alone bring about, the meters saw a load step at different instants: nothing can be said of the balance."""


def stub_room(room: Box) -> float:
    """How wide a stub may be in its room, px. What would be wider is torn off."""
    return max(room.height - 2 * STUB_PAD, 1.0)


def draw_stub(
    drawing: Drawing, gap: GapNow, room: Box, left: float, scale: float, em: float, measure: Measure
) -> Box:
    """The stub, as wide as what is missing; its arrow points out of the bus where power goes missing, else into it.

    One that is wider than its room is torn off at its lower edge, and says that it isn't to scale.

    room  where the stub may be drawn; the bus is at its right
    left  how far to the left its words may reach
    Returns the stub.
    """
    wide = min(abs(gap.value) * scale, stub_room(room))
    torn = wide < 0.999 * abs(gap.value) * scale
    high = measure("0", 0.85, True)[1]
    middle = room.top + STUB_PAD + max(wide, min(high, room.height - 2 * STUB_PAD)) / 2
    if gap.place == "both":
        middle = room.centre[1]
    stub = Box(room.left + 1.1 * em, middle - wide / 2, room.right, middle + wide / 2)
    path = _torn(stub, em) if torn else stub.path()
    to_scale = 0.0 if torn else wide
    drawing.areas.append(Area("stub", path, "unaccounted", gap.place, "", abs(gap.value), to_scale))
    ends = (room.left + 1.1 * em, room.left) if gap.value > 0 else (room.left, room.left + 1.1 * em)
    arrow = (("M", ends[0], middle), ("L", ends[1], middle))
    drawing.currents.append(Current(arrow, 1.2 * em, gap.place, "unaccounted"))
    if not torn:
        _spread(drawing, gap, stub, room, scale)
    top = max(min(middle - high / 2 - 1, room.bottom - high - 2), room.top)
    words = Box(left, top, room.left - 0.3 * em, top + high + 2)
    _words(drawing, gap, words, em, measure, torn)
    return stub


def _torn(stub: Box, em: float) -> Path:
    """The outline of a stub whose lower edge is torn."""
    tooth = min(0.3 * em, 0.4 * stub.height)
    teeth = max(2, round(stub.width / (0.7 * em)))
    edge: list[Step] = []
    for number in range(2 * teeth + 1):
        x = stub.right - stub.width * number / (2 * teeth)
        edge.append(("L", x, stub.bottom - (tooth if number % 2 else 0.0)))
    return (("M", stub.left, stub.top), ("L", stub.right, stub.top), *edge, ("Z",))


def _spread(drawing: Drawing, gap: GapNow, stub: Box, room: Box, scale: float) -> None:
    """A whisker of one standard deviation to either side of the stub's lower edge, as far as there is room.

    A stub too narrow to be measured by eye has none.
    """
    x = stub.left + 0.35 * (stub.right - stub.left)
    reach = gap.sd * scale
    if stub.height < 16 or not reach > 1:
        return
    top, bottom = max(stub.bottom - reach, room.top), min(stub.bottom + reach, room.bottom)
    path = (("M", x, top), ("L", x, bottom))
    drawing.lines.append(Line("spread", path, "text", 1.6, None, gap.place))
    for y in (top, bottom):
        cap = (("M", x - 3, y), ("L", x + 3, y))
        drawing.lines.append(Line("spread", cap, "text", 1.6, None, gap.place))


def _words(drawing: Drawing, gap: GapNow, words: Box, em: float, measure: Measure, torn: bool) -> None:
    size = 0.8 * em
    room = Box(words.left + 1.5 * size, words.top, words.right, words.bottom)
    templates = [_MISSING if gap.value > 0 else _UNSEEN, _SHORT]
    if torn:
        templates.insert(0, _TORN if gap.value > 0 else _TORN_UNSEEN)
    lines = [
        Text(
            str(Phrase(each, unaccounted=(abs(gap.value), gap.sd))), room, "unaccounted", 0.85, True, "right"
        )
        for each in templates
    ]
    for line in (*lines, replace(lines[-1], size=0.6), replace(lines[-1], size=0.45)):
        put = put_line(drawing, replace(line, of=gap.place), room, measure)
        if put is not None:
            drawing.marks.append(Mark("attend", (put.box.left - 0.9 * size, put.box.centre[1]), size))
            break


def quiet_lines(gaps: tuple[GapNow, ...], flowing_w: float) -> tuple[Phrase, ...]:
    """What is told where all powers add up, the longest wording first; none where nothing can be told.

    flowing_w  the largest power that flows, W
    """
    if not gaps or any(gap.significant for gap in gaps):
        return ()
    widest = max(gaps, key=lambda gap: abs(gap.value))
    value, sd = widest.value, widest.sd
    if sd > max(_LEAST_W, _TELLS_NOTHING * flowing_w):
        return (Phrase("The powers change too fast to be compared"), Phrase("Can't be compared"))
    return (
        Phrase("In balance ({unaccounted:W±} unaccounted)", unaccounted=(value, sd)),
        Phrase("In balance ({unaccounted:W±})", unaccounted=(value, sd)),
        Phrase("In balance"),
    )
