"""Where the parts of a trend view lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRect
from PySide6.QtGui import QFont, QFontMetrics

from desktop.picture.trends.source import Pane

_FIRST_WEIGHT, _LOW_WEIGHT = 2.0, 1.3
_LEAST_PLOT = 1.8
_TARGET = 24
"""Nothing that can be hit with the mouse is smaller than this."""
_NOTES = 12
"""Height of the strip in which notes are flagged, so that flags cover neither curves nor names."""


@dataclass(frozen=True, slots=True)
class PaneBox:
    """A pane's caption row and plot, in the widget's coordinates."""

    pane: Pane
    caption: QRect
    plot: QRect


@dataclass(frozen=True, slots=True)
class TrendLayout:
    """All parts, in the widget's coordinates.

    lane    the strip of severity marks above the panes
    notes   the strip of flags below the panes, without height where there are no notes
    axis    the row of time labels
    status  the row of words and the chooser
    unseen  how many panes found no room
    """

    lane: QRect
    panes: tuple[PaneBox, ...]
    notes: QRect
    axis: QRect
    status: QRect
    unseen: int

    @property
    def left(self) -> int:
        """Left edge of every plot."""
        return self.axis.left()

    @property
    def width(self) -> int:
        """Width of every plot."""
        return self.axis.width()

    @property
    def field(self) -> QRect:
        """From the lane to the axis: where the mouse moves time."""
        return self.lane.united(self.axis)


def lay_out(
    width: int, height: int, panes: Sequence[Pane], font: QFont, *, noted: bool = False
) -> TrendLayout:
    """Panes that don't find room are left out from the bottom; the first one is the tallest.

    noted  there are notes to be flagged
    """
    metrics = QFontMetrics(font)
    row = metrics.height() + 2
    gutter = metrics.horizontalAdvance("−00.00") + 10
    plot_width = max(1, width - gutter - row)
    lane = QRect(gutter, 2, plot_width, max(12, row - 4))
    status = QRect(8, height - max(_TARGET, row + 4) - 2, max(1, width - 16), max(_TARGET, row + 4))
    axis = QRect(gutter, status.top() - row - 5, plot_width, row + 4)
    high = _NOTES if noted else 0
    notes = QRect(gutter, axis.top() - high, plot_width, high)
    room = notes.top() - lane.bottom() - 2
    least = row + round(_LEAST_PLOT * row)
    fitting = max(1, min(len(panes), room // least)) if panes else 0
    shown = panes[:fitting]
    # Where the others would be lower than they must be, the first one gives way.
    weight = _FIRST_WEIGHT if room - fitting * least >= row else _LOW_WEIGHT
    unit = max(1.0, (room - fitting * row) / (fitting - 1 + weight)) if fitting else 0
    boxes, top = [], lane.bottom() + 1
    for number, pane in enumerate(shown):
        tall = int(unit * (weight if number == 0 else 1))
        boxes.append(
            PaneBox(pane, QRect(gutter, top, plot_width, row), QRect(gutter, top + row, plot_width, tall - 4))
        )
        top += row + tall
    return TrendLayout(lane, tuple(boxes), notes, axis, status, len(panes) - fitting)
