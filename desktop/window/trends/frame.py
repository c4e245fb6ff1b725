"""What a frame of the trends is drawn from, and what was found while it was drawn."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from PySide6.QtCore import QRect, QRectF, QSize
from PySide6.QtGui import QFont, QFontMetrics, QImage

from desktop.picture.axes import Tick, time_ticks
from desktop.picture.trends.bands import BandTable, Mark
from desktop.picture.trends.columns import Columns
from desktop.picture.trends.covered import Covered
from desktop.picture.trends.source import LimitLine, Series, TrendSource
from desktop.picture.trends.store import LevelStore
from desktop.picture.trends.value_axis import ValueAxis
from desktop.picture.trends.window import TimeWindow
from desktop.window.trends.colours import TrendColours
from desktop.window.trends.curves import Scale
from desktop.window.trends.layout import TrendLayout

WIDE = 2000
"""Above so many device pixels a column is two of them wide: finer ones are hardly told apart, and cost double."""


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a frame is drawn from.

    ratio   device pixels per pixel of the widget
    hidden  the instant after which nothing is shown (UTC nanoseconds); None: everything is
    """

    store: LevelStore
    shown: list[Series]
    bands: BandTable
    window: TimeWindow
    layout: TrendLayout
    size: QSize
    ratio: float
    colours: TrendColours
    font: QFont
    hidden: int | None = None

    def shelf(self, ratio: float = 1.0) -> float:
        """Height of the shelf below a pane's axis, in pixels."""
        return round(QFontMetrics(self.font).height() * 0.5 * ratio)

    def limits(self, pane: str) -> list[LimitLine]:
        """The limit lines of a pane."""
        return [limit for limit in self.store.source.limits if limit.pane == pane]


@dataclass(slots=True)
class Frame:
    """One drawing of the still part, and what was found on the way; `covered` is in device pixels."""

    scene: Scene
    image: QImage
    columns: Columns
    ticks: list[Tick]
    axes: dict[str, ValueAxis] = field(default_factory=dict)
    marks: list[Mark] = field(default_factory=list)
    covered: dict[str, list[Covered]] = field(default_factory=dict)
    caption_ends: dict[str, float] = field(default_factory=dict)
    time_labels: list[QRectF] = field(default_factory=list)

    @property
    def pixel(self) -> float:
        """How long a device pixel is, nanoseconds."""
        return self.columns.width / self.columns.pixels

    @property
    def across(self) -> int:
        """Width of a plot, device pixels."""
        return self.columns.count * self.columns.pixels

    def device_x(self, instants: np.ndarray | int) -> np.ndarray:
        """How many device pixels instants (UTC nanoseconds) lie from the left edge of the plots."""
        return self.columns.at(instants) * self.columns.pixels

    def x_of(self, instant: int) -> float:
        """Where an instant lies, in the widget's coordinates."""
        return self.scene.layout.left + float(self.device_x(instant)) / self.scene.ratio

    def instant_at(self, x: float) -> int:
        """The instant at a place, UTC nanoseconds."""
        return self.columns.start + round((x - self.scene.layout.left) * self.scene.ratio * self.pixel)


def empty_frame(scene: Scene, used: QImage | None = None) -> Frame:
    """A frame with nothing drawn but the ground; on a picture that was used before, where it has the size."""
    source, layout, window = scene.store.source, scene.layout, scene.window
    size = scene.size * scene.ratio
    image = used if used is not None and used.size() == size else QImage(size, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(1.0)
    image.fill(scene.colours("ground"))
    across = max(1, round(layout.width * scene.ratio))
    pixels = 2 if across > WIDE else 1
    # Columns of two pixels reach one pixel beyond a plot whose width is odd, and so does the time seen.
    count = -(-across // pixels)
    stop = window.start + round(window.span * count * pixels / across)
    time, gaps = _seen(source, scene.hidden)
    columns = Columns(time, window.start, stop, count, source.bridge, gaps, pixels)
    spacing = QFontMetrics(scene.font).horizontalAdvance("00:00:00") * 1.35
    ticks = time_ticks(columns.start, columns.stop, max(1, int(layout.width / spacing)), source.zone)
    return Frame(scene, image, columns, ticks)


def device(rect: QRect, ratio: float) -> QRect:
    """A part of the widget in device pixels."""
    left, top = round(rect.left() * ratio), round(rect.top() * ratio)
    return QRect(left, top, round(rect.width() * ratio), round(rect.height() * ratio))


def pane_scale(plot: QRect, axis: ValueAxis, shelf: float, scale: float) -> Scale:
    """From a pane's values × scale to pixels within its plot; `shelf` is the height of a shelf, if it has one."""
    below = shelf if axis.shelf else 0.0
    return Scale(axis.low, axis.high, plot.top() + 1, plot.bottom() - 1 - below, scale, below)


def has_twin(series: Series, mine: list[Series]) -> bool:
    """True for a reading whose reconciled value is drawn as well."""
    return series.kind == "measured" and any(
        other.role == series.role and other.kind == "reconciled" for other in mine
    )


def _seen(source: TrendSource, hidden: int | None) -> tuple[np.ndarray, np.ndarray]:
    """The times and gaps that may be shown."""
    if hidden is None:
        return source.time, source.gaps
    time = source.time[: int(np.searchsorted(source.time, hidden, side="right"))]
    return time, source.gaps[: int(np.searchsorted(source.gaps[:, 1], hidden, side="right"))]
