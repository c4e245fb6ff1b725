"""What is drawn over the still part: legends with values, names of limits, the fan, and the flags of instants."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import tzinfo

from PySide6.QtGui import QPainter

from desktop.charging.forecast.forecast import Fan
from desktop.picture.trends.fan import fan_from
from desktop.window.trends.fan import FAN_PANE, draw_fan, draw_fan_name, fan_covers
from desktop.window.trends.frame import Frame
from desktop.window.trends.level_names import Name, draw_names, place_names
from desktop.window.trends.words import draw_flag, draw_legend, title_end
from desktop.words import clock


@dataclass(slots=True)
class Pointing:
    """What is pointed at.

    cursor  the instant under the cursor, hover that under the mouse (UTC nanoseconds); None for none
    fan     what the state of charge is expected to do from the cursor on; None where nothing is
    """

    cursor: int | None
    hover: int | None
    fan: Fan | None

    @property
    def seen_fan(self) -> Fan | None:
        """The part of the fan that is drawn."""
        return None if self.fan is None or self.cursor is None else fan_from(self.fan, self.cursor)


class OverPainter:
    """Draws over frames. It remembers where the names of a frame's limits stand."""

    def __init__(self) -> None:
        self._frame: Frame | None = None
        self._names: dict[str, list[Name]] = {}
        self._fan: Fan | None = None
        self._at: int | None = None

    def draw(
        self, painter: QPainter, frame: Frame, pointing: Pointing, texts: Mapping[str, str], zone: tzinfo
    ) -> None:
        """Everything, by the painter's font. `texts` are the curves' values (key → text)."""
        fan = pointing.seen_fan
        self._find_names(painter, frame, pointing, fan)
        for box in frame.scene.layout.panes:
            fanned = fan is not None and box.pane.key == FAN_PANE
            if fanned:
                draw_fan(painter, frame, box, fan)
            draw_names(painter, frame, box, self._names[box.pane.key])
            end = draw_legend(painter, frame, box, texts)
            if fanned:
                draw_fan_name(painter, frame, box, end)
        for instant, strong in ((pointing.cursor, True), (pointing.hover, False)):
            if instant is not None:
                draw_flag(painter, frame, instant, clock(instant, zone), strong=strong)

    def _find_names(self, painter: QPainter, frame: Frame, pointing: Pointing, fan: Fan | None) -> None:
        """Find places for the names, anew only where the frame, the fan or its beginning is another one."""
        known = self._names if frame is self._frame else {}
        same = pointing.fan is self._fan and (fan is None or pointing.cursor == self._at)
        for box in frame.scene.layout.panes:
            key = box.pane.key
            if key in known and (same or key != FAN_PANE):
                continue
            over = [fan_covers(frame, box, fan)] if fan is not None and key == FAN_PANE else []
            known[key] = place_names(frame, box, painter.font(), title_end(box, painter.font()), over)
        self._names, self._frame = known, frame
        self._fan, self._at = pointing.fan, pointing.cursor
