"""Once under a real X server: the window appears, it isn't blank, and closing it ends the program with status 0."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

XVFB = shutil.which("Xvfb")

_DRIVE = """
import json, sys
from PySide6.QtCore import QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication
from desktop import app
from desktop.window.main import MainWindow

def look():
    windows = [each for each in QApplication.topLevelWidgets() if isinstance(each, MainWindow) and each.isVisible()]
    if not windows or windows[0].ready is None or windows[0].opener.busy:
        return
    window = windows[0]
    timer.stop()
    QApplication.processEvents()
    image = QGuiApplication.primaryScreen().grabWindow(0).toImage()
    place = window.geometry()
    colours = {image.pixel(x, y) for x in range(place.left(), place.right(), 5)
               for y in range(place.top(), place.bottom(), 5) if image.rect().contains(x, y)}
    print(json.dumps({
        "platform": QApplication.platformName(),
        "exposed": window.windowHandle().isExposed(),
        "size": [place.width(), place.height()],
        "colours": len(colours),
        "headline": window.board.sentence.headline.text(),
    }), flush=True)
    window.close()

timer = None

def start():
    global timer
    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(50)

import desktop.window.run as run
stay = run._stay
run._stay = lambda application, window: (start(), stay(application, window))[1]
sys.exit(app.main(sys.argv[1:]))
"""


@pytest.fixture
def display(tmp_path: Path) -> Iterator[str]:
    """An X server of our own; its number is one that was free."""
    assert XVFB is not None
    told, tell = os.pipe()
    command = [XVFB, "-displayfd", str(tell), "-screen", "0", "1600x1000x24", "-nolisten", "tcp"]
    with (tmp_path / "xvfb.log").open("wb") as log:
        server = subprocess.Popen(command, pass_fds=[tell], stdout=log, stderr=log)
    os.close(tell)
    with os.fdopen(told) as answer:
        number = answer.readline().strip()
    assert number, (tmp_path / "xvfb.log").read_text()
    yield f":{number}"
    server.terminate()
    server.wait(20)


@pytest.mark.skipif(XVFB is None, reason="Xvfb isn't on this machine: it is a package of the system")
def test_the_window_opens_on_a_real_display_and_closes_with_status_0(
    display: str, overload: Path, tmp_path: Path
):
    environment = {
        **os.environ,
        "DISPLAY": display,
        "QT_QPA_PLATFORM": "xcb",
        "XDG_CONFIG_HOME": str(tmp_path),
    }
    command = [sys.executable, "-c", _DRIVE, "open", str(overload)]
    done = subprocess.run(command, check=False, capture_output=True, text=True, timeout=120, env=environment)
    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout.splitlines()[-1])
    assert seen["platform"] == "xcb"
    assert seen["exposed"]
    assert seen["size"][0] >= 960
    assert seen["colours"] > 20
    assert "5.86" in seen["headline"]
