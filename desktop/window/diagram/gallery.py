"""The flow diagram in every state and theme, as PNG files: python -m desktop.window.diagram.gallery FOLDER."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from desktop.picture.diagram import layout
from desktop.picture.diagram.examples import examples
from desktop.picture.palette import THEMES
from desktop.window.diagram.paint import DiagramPainter
from desktop.window.diagram.view import measured
from desktop.window.style import fonts


def draw(folder: Path, width: int, height: int, ratio: float, names: list[str]) -> int:
    """Write the pictures of these states (all of them where none is named); how many there were."""
    folder.mkdir(parents=True, exist_ok=True)
    written = 0
    for name, moment in examples().items():
        if names and name not in names:
            continue
        picture = layout(moment, width, height, measured())
        for theme in THEMES:
            image = QImage(round(width * ratio), round(height * ratio), QImage.Format.Format_RGB32)
            image.setDevicePixelRatio(ratio)
            painter = QPainter(image)
            paint = DiagramPainter(theme)
            paint.paint(painter, picture)
            paint.paint_chevrons(painter, picture)
            painter.end()
            image.save(str(folder / f"{name}-{theme}.png"))
            written += 1
    return written


def main() -> None:
    """Draw the gallery."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--size", default="920x440", help="width x height in pixels (920x440)")
    parser.add_argument("--text", type=float, default=1.0, help="scale of the text (1)")
    parser.add_argument("--ratio", type=float, default=1.0, help="device pixels per pixel (1)")
    parser.add_argument("--only", nargs="*", default=[], help="names of the states to draw")
    wanted = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = QApplication([])
    fonts.set_base(10.0)
    fonts.set_text_scale(wanted.text)
    width, height = (int(part) for part in wanted.size.split("x"))
    draw(wanted.folder, width, height, wanted.ratio, wanted.only)
    app.quit()


if __name__ == "__main__":
    main()
