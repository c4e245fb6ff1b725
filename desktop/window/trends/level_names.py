"""The names of limits: beside their lines where no curve runs, else in the heads of their panes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF
from PySide6.QtGui import QFont, QFontMetrics, QPainter

from desktop.picture.trends.covered import Covered, crosses
from desktop.picture.trends.labels import Box, Head, Level, name_spots
from desktop.picture.trends.source import LimitLine
from desktop.window.trends.frame import Frame, pane_scale
from desktop.window.trends.layout import PaneBox

_SPACE = 14
_SWATCH = ((0, 4), (5, 4))
"""Left ends and widths of the dashes that stand for a line in a pane's head, pixels."""


@dataclass(frozen=True, slots=True)
class Name:
    """A limit's name where it stands: the left end of its line of writing, in the widget's coordinates.

    in_head  True where it stands in the head of its pane, behind two dashes
    """

    text: str
    at: QPointF
    in_head: bool


def place_names(
    frame: Frame, box: PaneBox, font: QFont, title_end: float, over: Sequence[Covered] = ()
) -> list[Name]:
    """Find a place for the name of each limit of a pane; one for which there is none is left out.

    title_end  where the pane's title ends
    over       what is drawn over the curves (as `Frame.covered`), to be kept clear of as well

    Where the pane's legend has to end is noted in the frame.
    """
    limits, metrics = frame.scene.limits(box.pane.key), QFontMetrics(font)
    texts = [str(limit.name) for limit in limits]
    lines = _lines(frame, box, limits)
    # Brackets and the tails of letters reach farther than capitals do.
    ink = metrics.tightBoundingRect("(Ég)")
    up, down = float(-ink.top()), float(ink.bottom() + 1)
    curves = [*frame.covered[box.pane.key], *over]
    levels = [Level(y, metrics.horizontalAdvance(text)) for y, text in zip(lines, texts, strict=True)]
    # A legend needs room for its title and for the number of curves that are not told.
    least = title_end + metrics.horizontalAdvance("+00") + _SPACE
    head = Head(least, float(box.caption.right()), _SPACE)
    spots = name_spots(
        levels,
        _box(box.plot),
        up + down,
        lambda place: _at_zero(frame, box, place) or _crossed(frame, box, curves, place),
        head,
    )
    baseline = box.caption.top() + metrics.ascent() + 1
    names = []
    for text, spot in zip(texts, spots, strict=True):
        if spot is not None:
            y = baseline if spot.bottom is None else spot.bottom - down
            names.append(Name(text, QPointF(spot.left, y), spot.bottom is None))
    ends = [name.at.x() - 2 * _SPACE for name in names if name.in_head]
    frame.caption_ends[box.pane.key] = min(ends, default=head.right)
    return names


def draw_names(painter: QPainter, frame: Frame, box: PaneBox, names: Sequence[Name]) -> None:
    """Write them."""
    muted = frame.scene.colours("muted")
    painter.setPen(muted)
    for name in names:
        painter.drawText(name.at, name.text)
        for dash, width in _SWATCH if name.in_head else ():
            painter.fillRect(QRectF(name.at.x() - _SPACE + dash, box.caption.center().y(), width, 1), muted)


def _lines(frame: Frame, box: PaneBox, limits: Sequence[LimitLine]) -> list[float]:
    """Where the lines run, in the widget's coordinates."""
    return [_level(frame, box, limit.value) for limit in limits]


def _level(frame: Frame, box: PaneBox, value: float) -> float:
    scale = pane_scale(box.plot, frame.axes[box.pane.key], frame.scene.shelf(), box.pane.scale)
    return float(scale(np.array(value)))


def _at_zero(frame: Frame, box: PaneBox, place: Box) -> bool:
    """True where the strong line at zero runs through a place: a name there would seem to be that line's."""
    return frame.axes[box.pane.key].low < 0 and place.top < _level(frame, box, 0.0) < place.bottom


def _box(rect: QRect) -> Box:
    return Box(rect.left(), rect.top(), rect.left() + rect.width(), rect.top() + rect.height())


def _crossed(frame: Frame, box: PaneBox, curves: Sequence[Covered], place: Box) -> bool:
    """True where a curve runs through a place."""
    ratio, columns, left = frame.scene.ratio, frame.columns, box.plot.left()
    first, last = (int((x - left) * ratio / columns.pixels) for x in (place.left, place.right))
    return crosses(curves, slice(max(first, 0), last + 1), place.top * ratio, place.bottom * ratio)
