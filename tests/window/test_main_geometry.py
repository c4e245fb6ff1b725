"""No text of the window is cut off or covered, whatever its size, the text's size and the theme."""

from itertools import combinations

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLabel, QLineEdit, QWidget

from desktop.picture.palette import contrast
from desktop.window.about import CautionsBox
from desktop.window.parts.text import Elided
from desktop.window.style import theme

SIZES = [(1280, 720), (1440, 900), (3840, 2160)]
SCALES = [1.0, 1.5, 2.0]


def words(top: QWidget) -> list[QWidget]:
    """Everything with words on it that is meant to be seen."""
    kinds = (QLabel, QAbstractButton, QComboBox, QLineEdit)
    return [each for kind in kinds for each in top.findChildren(kind) if each.isVisibleTo(top) and told(each)]


def told(widget: QWidget) -> str:
    if isinstance(widget, QLabel) and widget.buddy() is not None:
        return widget.text().replace("&", "")
    return widget.currentText() if isinstance(widget, QComboBox) else widget.text()


def needed(label: QWidget) -> tuple[int, int]:
    """How wide and high it has to be, as it is."""
    if isinstance(label, QLabel) and label.wordWrap():
        flags = int(Qt.TextFlag.TextWordWrap)
        box = label.fontMetrics().boundingRect(QRect(0, 0, label.width(), 1 << 20), flags, label.text())
        return box.width(), box.height()
    if isinstance(label, (QLineEdit, Elided)):
        return 0, label.fontMetrics().height()
    if isinstance(label, QLabel):
        box = label.fontMetrics().boundingRect(told(label))
        return box.width(), label.fontMetrics().height()
    hint = label.minimumSizeHint()
    return hint.width(), hint.height()


def checked(top: QWidget) -> int:
    found = words(top)
    for each in found:
        width, height = needed(each)
        assert each.width() >= width - 1, f"{told(each)!r} is {each.width()} wide and needs {width}"
        assert each.height() >= height - 1, f"{told(each)!r} is {each.height()} high and needs {height}"
        place = QRect(each.mapTo(top, each.rect().topLeft()), each.size())
        parent = each.parentWidget()
        assert parent.rect().adjusted(-1, -1, 1, 1).contains(each.geometry()), (
            f"{told(each)!r} leaves its panel"
        )
        assert place.left() >= 0
    for one, other in combinations(found, 2):
        if one.parentWidget() is other.parentWidget():
            common = one.geometry().intersected(other.geometry())
            assert common.width() <= 1 or common.height() <= 1, f"{told(one)!r} covers {told(other)!r}"
    return len(found)


def settle() -> None:
    # A scroll bar that comes makes panels narrower, and those higher: each takes its own round.
    for _ in range(8):
        QApplication.processEvents()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scale", SCALES)
def test_nothing_is_cut_off_or_covered(open_window, ready, size, scale):
    window = open_window(ready, size)
    window.set_text_scale(scale)
    settle()
    cursor = window.board.cursor_of_time
    for share in (0.0, 0.5, 0.98):
        cursor.move(cursor.first + round(share * (cursor.last - cursor.first)))
        window.board.pace.now()
        settle()
        assert checked(window.board) > 25
    board = window.board
    assert board.right.viewport().width() >= board.right.widget().minimumSizeHint().width()
    for each in (board.sentence, board.columns, board.replay):
        assert each.height() >= each.minimumSizeHint().height()


@pytest.mark.parametrize("scale", SCALES)
def test_nothing_is_cut_off_where_no_recording_is_open(open_window, scale):
    window = open_window(None, (1280, 720))
    window.set_text_scale(scale)
    window.notice.show_error("a.csv: no column with powers was found in this file. " * 4)
    settle()
    assert checked(window.empty.widget()) > 3
    assert checked(window.notice) >= 2


@pytest.mark.parametrize("scale", SCALES)
def test_the_cautions_can_be_read_to_the_end(open_window, scale):
    window = open_window(None, (1280, 720))
    window.set_text_scale(scale)
    box = window.show_cautions()
    assert isinstance(box, CautionsBox)
    settle()
    assert checked(box) >= 9
    box.reject()


@pytest.mark.parametrize("name", ["light", "dark"])
def test_every_text_stands_out_from_its_ground(name):
    texts = ("text", "muted", "act now", "attend", "note")
    pairs = [(text, ground) for text in texts for ground in ("ground", "window", "standing", "selected")]
    pairs += [("text", "button"), ("text", "field")]
    for text, ground in pairs:
        ratio = contrast(theme.colour_in(name, text).name(), theme.colour_in(name, ground).name())
        assert ratio >= 4.5, f"{text} on {ground} in {name}: {ratio:.2f}"
