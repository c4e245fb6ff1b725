"""Demos as they are opened, and the dialog that looks into them."""

from pathlib import Path

import pytest

from desktop.opening import open_recording
from desktop.review import review
from desktop.window.opening import Ready, Wanted, prepared

DEMOS = Path(__file__).parents[3] / "recordings" / "demo"


@pytest.fixture(scope="session")
def demo():
    """Name → a demo as it is opened."""
    made: dict[str, Ready] = {}

    def opened(name: str) -> Ready:
        if name not in made:
            path = DEMOS / f"{name}.csv"
            made[name] = prepared(review(*open_recording(path)), Wanted((path,)))
        return made[name]

    return opened


@pytest.fixture
def looking(open_window, demo):
    """Opens a demo in a window, and a page of the dialog beside it."""

    def look(name: str, page: str = "causes", size: tuple[int, int] = (1280, 800)):
        window = open_window(demo(name), size)
        window.look.show_page(page)
        return window, window.look.dialog

    return look
