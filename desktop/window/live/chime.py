"""A quiet sound of two notes, and a word on the desktop, for what has to be looked at now."""

from __future__ import annotations

import io
import math
import shutil
import sys
import wave
from pathlib import Path

import numpy as np
from PySide6.QtCore import QObject, QProcess, Qt, QTemporaryDir
from PySide6.QtGui import QColor, QIcon, QPainter, QPixmap
from PySide6.QtWidgets import QApplication, QSystemTrayIcon, QWidget

from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.style import theme

_RATE = 22_050
_NOTES = ((659.3, 0.0), (523.3, 0.22))
"""Pitch, Hz, and when it begins, s: a falling third."""
_LENGTH_S, _LOUDNESS, _FADING_S = 0.9, 0.22, 0.16
_PLAYERS = ("pw-play", "paplay", "aplay", "afplay")
_SHOWN_MS = 15_000
_ICON = 64


def sound() -> bytes:
    """The sound as a WAV file: one channel, 16 bits."""
    time = np.arange(round(_RATE * _LENGTH_S)) / _RATE
    total = np.zeros_like(time)
    for pitch, begins in _NOTES:
        since = time - begins
        rising = np.clip(since / 0.01, 0.0, 1.0)
        fading = np.exp(-np.clip(since, 0.0, None) / _FADING_S)
        total += np.sin(2 * math.pi * pitch * since) * rising * fading * (since >= 0)
    words = np.round(32767 * _LOUDNESS * total / np.max(np.abs(total))).astype("<i2")
    file = io.BytesIO()
    with wave.open(file, "wb") as written:
        written.setnchannels(1)
        written.setsampwidth(2)
        written.setframerate(_RATE)
        written.writeframes(words.tobytes())
    return file.getvalue()


class Chime(QObject):
    """Plays the sound by whatever the system has for that; where there is nothing, by the system's beep."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._folder: QTemporaryDir | None = None
        self._player = next(filter(None, map(shutil.which, _PLAYERS)), "")

    def ring(self) -> None:
        """Sound once."""
        if sys.platform == "win32":
            import winsound

            winsound.PlaySound(self._file(), winsound.SND_FILENAME | winsound.SND_ASYNC)
        elif not self._player or not QProcess.startDetached(self._player, [self._file()])[0]:
            QApplication.beep()

    def _file(self) -> str:
        if self._folder is None:
            self._folder = QTemporaryDir()
            Path(self._folder.path(), "alarm.wav").write_bytes(sound())
        return str(Path(self._folder.path(), "alarm.wav"))


class Notifier(QObject):
    """Tells a line on the desktop, where it shows such lines; else the window's entry in the task bar asks."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._tray: QSystemTrayIcon | None = None

    def tell(self, title: str, text: str) -> None:
        """Tell it."""
        QApplication.alert(self._window)
        if not (QSystemTrayIcon.isSystemTrayAvailable() and QSystemTrayIcon.supportsMessages()):
            return
        if self._tray is None:
            self._tray = QSystemTrayIcon(_icon(), self)
            self._tray.messageClicked.connect(self._raise)
            self._tray.activated.connect(self._raise)
        self._tray.setToolTip(title)
        self._tray.show()
        self._tray.showMessage(title, text, _icon(), _SHOWN_MS)

    def hush(self) -> None:
        """Nothing waits any more."""
        if self._tray is not None:
            self._tray.hide()

    def _raise(self) -> None:
        self._window.show()
        self._window.raise_()
        self._window.activateWindow()


def _icon() -> QIcon:
    picture = QPixmap(_ICON, _ICON)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    colour = QColor(theme.colour_in("light", "act now"))
    draw_mark(painter, picture.rect().toRectF().center(), _ICON - 8, "act now", colour)
    painter.end()
    return QIcon(picture)
