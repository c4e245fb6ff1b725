"""Two weeks of one site, before and after its input limit was lowered, and the dialog that compares them."""

from pathlib import Path

import pytest
from plant_weeks import SHEET, WEEKS, weeks

from desktop.window.opening import Wanted, load
from recordings.recording import Recording
from recordings.tables import write_csv

FORTNIGHT_NS = 14 * 86_400_000_000_000


@pytest.fixture(scope="session")
def both_weeks(tmp_path_factory) -> tuple[Path, Path]:
    """The recordings of the week before and of the one after, each with its sheet."""
    folder = tmp_path_factory.mktemp("weeks")
    paths = []
    for name, limit, seed, later in (("before", 20, 1, 0), ("after", 12, 2, FORTNIGHT_NS)):
        _, week = weeks(WEEKS.replace("limit_a = 20", f"limit_a = {limit}"), 4, seed)
        columns = {channel: week.column(channel).copy() for channel in week.channels}
        paths.append(folder / f"{name}.csv")
        write_csv(Recording.from_columns(week.time + later, columns), paths[-1])
        paths[-1].with_suffix(".toml").write_text(SHEET.format(limit=limit))
    return tuple(paths)


@pytest.fixture(scope="session")
def after_ready(both_weeks):
    """The later one as it is opened."""
    return load(Wanted((both_weeks[1],)), lambda *_: None)


@pytest.fixture
def settled(qtbot):
    """Waits until a dialog has compared what was asked for."""

    def wait(dialog):
        qtbot.waitUntil(lambda: not dialog.worker.busy, timeout=60_000)
        qtbot.wait(1)
        qtbot.waitUntil(lambda: not dialog.worker.busy and not dialog.cancel.isVisible(), timeout=60_000)
        return dialog

    return wait


@pytest.fixture
def compared(open_window, after_ready, both_weeks, settled):
    """The dialog with both, beside a window of some size."""

    def show(size: tuple[int, int] = (1280, 720)):
        window = open_window(after_ready, size)
        dialog = window.comparing.show()
        window.comparing.fetch([str(both_weeks[0])])
        return settled(dialog)

    return show
