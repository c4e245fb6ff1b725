"""What is written in a trend view: values beside the axes, times below, legends above."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import tzinfo

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter

from desktop.picture.axes import day_label
from desktop.picture.trends.source import Series
from desktop.window.trends.frame import Frame, has_twin, pane_scale
from desktop.window.trends.layout import PaneBox
from desktop.words import Phrase, clock, tr

_SWATCH = 12
_SPACE, _TIGHT = 14, 8


def draw_words(painter: QPainter, frame: Frame) -> None:
    """Everything but legends and names of limits, which may change with the moment that is pointed at."""
    for box in frame.scene.layout.panes:
        _value_words(painter, frame, box)
    _time_words(painter, frame)


def draw_legend(painter: QPainter, frame: Frame, box: PaneBox, texts: Mapping[str, str]) -> float:
    """A pane's title and its curves, each with its value (key → text). Where room is scarce, the title's unit isn't
    said again; what finds no room then is counted.

    Returns where it ends, in the widget's coordinates.
    """
    colours, caption = frame.scene.colours, box.caption
    metrics = painter.fontMetrics()
    baseline = caption.top() + metrics.ascent() + 1
    plain = painter.font()
    painter.setFont(_bold(plain))
    painter.setPen(colours("muted"))
    painter.drawText(QPointF(caption.left() + 2, baseline), _title(box))
    x = title_end(box, plain)
    painter.setFont(plain)
    all_curves = [each for each in frame.scene.shown if each.pane == box.pane.key and each.key in texts]
    mine = [each for each in all_curves if not has_twin(each, all_curves)]
    values = [_value(series, all_curves, texts) for series in mine]
    tight = _needed(mine, values, metrics) > frame.caption_ends[box.pane.key] - x
    if tight:
        values = [value.removesuffix(f" {box.pane.unit}") for value in values]
    for number, (series, value) in enumerate(zip(mine, values, strict=True)):
        entry = _entry(series, value, metrics, tight=tight)
        more = f"+{len(mine) - number - 1}" if number + 1 < len(mine) else ""
        room = frame.caption_ends[box.pane.key] - (metrics.horizontalAdvance(more) + _SPACE if more else 0)
        if x + entry > room:
            painter.setPen(colours("muted"))
            painter.drawText(QPointF(x, baseline), f"+{len(mine) - number}")
            return frame.caption_ends[box.pane.key]
        painter.fillRect(QRectF(x, caption.center().y() - 1, _SWATCH, 3), colours(series.role))
        painter.setPen(colours("muted"))
        painter.drawText(QPointF(x + _SWATCH + 5, baseline), str(series.label))
        painter.setPen(colours("text"))
        named = metrics.horizontalAdvance(f"{series.label} ")
        painter.drawText(QPointF(x + _SWATCH + 5 + named, baseline), value)
        x += entry + (_TIGHT if tight else _SPACE)
    return float(x)


def _bold(font: QFont) -> QFont:
    bold = QFont(font)
    bold.setBold(True)
    return bold


def _title(box: PaneBox) -> str:
    return f"{box.pane.title}, {box.pane.unit}"


def title_end(box: PaneBox, font: QFont) -> float:
    """Where a legend may begin."""
    return box.caption.left() + 2 + QFontMetrics(_bold(font)).horizontalAdvance(_title(box)) + _SPACE


def _value(series: Series, curves: list[Series], texts: Mapping[str, str]) -> str:
    """A curve's value; with that of its meter, where both are drawn."""
    meters = [each for each in curves if has_twin(each, curves) and each.role == series.role]
    if not meters or not texts[series.key]:
        return texts[series.key]
    return str(Phrase("{value} (meter {metered})", value=texts[series.key], metered=texts[meters[0].key]))


def _needed(curves: Sequence[Series], values: Sequence[str], metrics: QFontMetrics) -> int:
    """How much room all entries take, with their units."""
    each = [_entry(one, value, metrics, tight=False) for one, value in zip(curves, values, strict=True)]
    return sum(each) + _SPACE * max(len(each) - 1, 0)


def _entry(series: Series, text: str, metrics: QFontMetrics, *, tight: bool) -> int:
    # Room for the widest usual value, so that neighbours stay put while values change.
    usual = "−0.00" if tight else "−00.00 kW"
    value = max(metrics.horizontalAdvance(text), metrics.horizontalAdvance(usual))
    return _SWATCH + 5 + metrics.horizontalAdvance(f"{series.label} ") + value


def _value_words(painter: QPainter, frame: Frame, box: PaneBox) -> None:
    metrics = painter.fontMetrics()
    axis = frame.axes[box.pane.key]
    shelf = frame.scene.shelf()
    scale = pane_scale(box.plot, axis, shelf, 1.0)
    painter.setPen(frame.scene.colours("muted"))
    written = [(float(scale(np.array(value))), text) for value, text in axis.ticks]
    if axis.shelf:
        level = float(box.plot.bottom() - 1)
        written = [(y, text) for y, text in written if y < level - metrics.capHeight() * 1.5]
        written.append((level, axis.shelf_label))
    for y, text in _apart(written, 1.5 * metrics.capHeight()):
        left = box.plot.left() - 6 - metrics.horizontalAdvance(text)
        painter.drawText(QPointF(left, y + metrics.capHeight() / 2), text)


def _apart(written: list[tuple[float, str]], least: float) -> list[tuple[float, str]]:
    """The labels that keep a distance, the lowest and then the highest before those between."""
    ordered = sorted(written, key=lambda each: -each[0])
    kept: list[tuple[float, str]] = []
    for each in [*ordered[:1], *ordered[:0:-1]]:
        if all(abs(each[0] - other[0]) >= least for other in kept):
            kept.append(each)
    return kept


def _time_words(painter: QPainter, frame: Frame) -> None:
    axis, colours = frame.scene.layout.axis, frame.scene.colours
    plain, bold = painter.font(), _bold(painter.font())
    free = float(axis.left() - 20)
    for tick in frame.ticks:
        painter.setFont(bold if tick.strong else plain)
        metrics = painter.fontMetrics()
        width = metrics.horizontalAdvance(tick.label)
        x = frame.x_of(tick.at)
        if x - width / 2 < free or x + width / 2 > axis.right() + 18:
            continue
        painter.setPen(colours("text" if tick.strong else "muted"))
        painter.drawText(QPointF(x - width / 2, axis.top() + 4 + metrics.ascent()), tick.label)
        frame.time_labels.append(QRectF(x - width / 2 - 1, axis.top() + 4, width + 2, metrics.height()))
        painter.fillRect(QRectF(round(x), axis.top(), 1, 4), colours("strong_line"))
        free = x + width / 2 + 8
    painter.setFont(plain)


def draw_flag(painter: QPainter, frame: Frame, instant: int, text: str, strong: bool) -> None:
    """A line across all panes at an instant, with its time on the axis."""
    layout, colours, metrics = frame.scene.layout, frame.scene.colours, painter.fontMetrics()
    x = frame.x_of(instant)
    if not layout.left - 0.5 <= x <= layout.left + layout.width + 0.5 or not layout.panes:
        return
    line = colours("cursor") if strong else colours("muted")
    for part in (box.plot for box in layout.panes):
        painter.fillRect(
            QRectF(round(x) - (0.5 if strong else 0), part.top(), 1.5 if strong else 1, part.height()), line
        )
    bottom = layout.axis.top()
    width = metrics.horizontalAdvance(text) + 10
    left = min(max(x - width / 2, layout.left - 20.0), layout.axis.right() + 18.0 - width)
    box = QRectF(left, bottom + 2, width, metrics.height() + 2)
    for label in frame.time_labels:
        if label.intersects(box):
            painter.fillRect(label, colours("ground"))
    painter.fillRect(box, line if strong else colours("ground"))
    painter.setPen(colours("ground") if strong else colours("text"))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def draw_status(painter: QPainter, frame: Frame, room: int, wordings: Sequence[str]) -> None:
    """The longest of some wordings that has room, in the row below the axis."""
    status, metrics = frame.scene.layout.status, painter.fontMetrics()
    text = next((each for each in wordings if metrics.horizontalAdvance(each) <= room), "")
    painter.setPen(frame.scene.colours("muted"))
    place = QRect(status.left(), status.top(), room, status.height())
    painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, text)


def value_text(series: Series, row: int) -> str:
    """A curve's value in a row as a legend shows it; of a row below 0 nothing is known."""
    value = float(series.values()[row]) if row >= 0 else float("nan")
    return str(Phrase(f"{{value:{series.unit}}}", value=value))


def status_wordings(frame: Frame, zone: tzinfo) -> tuple[str, ...]:
    """What is seen, in words, from the longest wording to the shortest."""
    parts = [_stretch_text(frame, zone), _thinning_text(frame)]
    if frame.scene.layout.unseen:
        parts.append(str(Phrase("panes without room: {count}", count=str(frame.scene.layout.unseen))))
    return tuple(" · ".join(parts[:count]) for count in range(len(parts), 0, -1))


def _stretch_text(frame: Frame, zone: tzinfo) -> str:
    """In words, which stretch of time is seen."""
    columns = frame.columns
    day, other = day_label(columns.start, zone), day_label(columns.stop, zone)
    return str(
        Phrase(
            "{day}, {start} – {stop_day}{stop}, {span:time}",
            day=day,
            start=clock(columns.start, zone)[:5],
            stop_day="" if day == other else f"{other} ",
            stop=clock(columns.stop, zone)[:5],
            span=(columns.stop - columns.start) / 1e9,
        )
    )


def _thinning_text(frame: Frame) -> str:
    """In words, whether every reading is drawn, and if not, what stands for them."""
    columns = frame.columns
    if columns.sparse:
        return tr("every reading is drawn")
    each = _count(columns.rows_shown / columns.count)
    if columns.pixels > 1:
        return str(Phrase("thinned: lowest to highest of {rows} readings per two pixels", rows=each))
    return str(Phrase("thinned: lowest to highest of {rows} readings per pixel", rows=each))


def _count(number: float) -> str:
    return f"{round(number):,}".replace(",", "\u202f")
