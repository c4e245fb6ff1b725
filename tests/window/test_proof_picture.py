"""`headrace review --png` is the window, pixel by pixel; and making it leaves the machine as it was."""

import os
import stat
import subprocess
import sys

import numpy as np
import pytest
from PySide6.QtGui import QImage

from desktop.commands.review import picture_instant, reviewed
from desktop.window import shot
from desktop.window.main import MainWindow
from desktop.window.opening import prepared
from desktop.window.settings import Settings
from desktop.window.shot import dismiss
from desktop.window.style import fonts, theme


@pytest.fixture
def usual_letters(qapp):
    """Letters as large as where no desktop tells their size."""
    before = qapp.property(fonts._BASE)
    fonts.set_base(shot._POINTS)
    yield
    qapp.setProperty(fonts._BASE, before)
    fonts.set_text_scale(1.0)
    theme.apply("light")


@pytest.mark.parametrize("name", ["light", "dark"])
def test_the_png_is_the_window_pixel_by_pixel(overload, settings: Settings, tmp_path, usual_letters, name):
    path = tmp_path / "picture.png"
    options = ("--png", str(path), "--theme", name, "--size", "1280x720", "--at", "17:24:10")
    command = [sys.executable, "-m", "desktop.app", "review", str(overload), *options]
    done = subprocess.run(command, check=False, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    drawn = QImage(str(path))

    found = reviewed([overload])
    settings.theme, settings.motion = name, False
    window = MainWindow(settings)
    window.resize(1280, 720)
    window.show_ready(prepared(found), picture_instant("17:24:10", found))
    window.show()
    shot.settle(window)
    shown = channels(window.grab().toImage())
    dismiss(window)
    assert channels(drawn).shape == shown.shape == (720, 1280, 4)
    assert np.array_equal(channels(drawn), shown)


def channels(image: QImage) -> np.ndarray:
    """(height, width, 4) of a picture."""
    plain = image.convertToFormat(QImage.Format.Format_RGB32)
    return np.frombuffer(plain.constBits(), np.uint8).reshape(plain.height(), plain.width(), 4).copy()


def test_a_picture_writes_nothing_but_the_picture(overload, tmp_path):
    home = tmp_path / "home"
    home.mkdir()
    environment = {**os.environ, "HOME": str(home), "XDG_CONFIG_HOME": str(home), "XDG_CACHE_HOME": str(home)}
    device = os.stat(os.devnull)
    command = [sys.executable, "-m", "desktop.app", "review", str(overload), "--png", str(tmp_path / "p.png")]
    done = subprocess.run(command, check=False, capture_output=True, text=True, timeout=120, env=environment)
    assert done.returncode == 0, done.stderr
    assert not list(home.rglob("*headrace*"))
    if stat.S_ISCHR(device.st_mode):
        assert stat.S_ISCHR(os.stat(os.devnull).st_mode)
        assert os.stat(os.devnull).st_ino == device.st_ino
