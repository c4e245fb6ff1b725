"""How long starting takes, beside what Python and Qt take on their own. Run: python tests/bench/bench_start.py"""

from __future__ import annotations

import os

from side_by_side import process, told

_WINDOW = """
import sys
from desktop.opening import default_demo, open_recording
from desktop.review import review
from desktop.window.shot import shown
window = shown(review(*open_recording([default_demo()])))
window.repaint()
"""


def main() -> None:
    """Print the start of the command line and of the window on the demo, in seconds over the bare libraries."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    bare = process("-c", "pass", rounds=7)
    told("headrace --help", process("-m", "desktop.app", "--help", rounds=7), "python -c pass", bare)
    libraries = process("-c", "import PySide6.QtWidgets, pyqtgraph", rounds=5)
    window = process("-c", _WINDOW, rounds=5)
    told("window on the demo, painted once", window, "import PySide6, pyqtgraph", libraries)
    print(f"over the bare libraries: {window - libraries:.2f} s")


if __name__ == "__main__":
    main()
