"""Reviews to report on: the demos, and recordings and sheets made to do harm."""

from __future__ import annotations

from functools import cache

import numpy as np

from desktop.opening import demos, open_recording
from desktop.review import Review, review
from desktop.review.corrected import Figures, figures_of
from recordings.recording import Recording

NAMES = ("load-step", "limit-too-high", "reversed-battery-meter", "two-overcast-days")

HOSTILE = '</td><script>alert(1)</script><img src=x onerror="alert(2)"> & \'"><b>{{7*7}}{0}%s'
"""What must stay text wherever it is shown."""


@cache
def demo(name: str) -> Review:
    """The review of a demo."""
    path = next(each.path for each in demos() if each.path.stem == name)
    return review(*open_recording(path))


@cache
def figures(name: str) -> Figures:
    """Which review the figures of a demo are told from."""
    return figures_of(demo(name), review)


@cache
def twice_wrong() -> Review:
    """Two meters of one plant lie: no single correction sets it right."""
    found = demo("reversed-battery-meter")
    columns = {name: found.recording.column(name) for name in found.recording.channels}
    columns["load_power"] = (3 * columns["load_power"] + 200).astype(np.float32)
    return review(Recording.from_columns(found.recording.time, columns), found.site)


@cache
def often(name: str, many: int) -> Review:
    """A demo, so many times one after the other."""
    found = demo(name)
    step = int(found.recording.time[-1] - found.recording.time[0]) + 1_000_000_000
    time = np.concatenate([found.recording.time + number * step for number in range(many)])
    columns = {each: np.tile(found.recording.column(each), many) for each in found.recording.channels}
    return review(Recording.from_columns(time, columns), found.site)


def hostile(folder, site_name: str = HOSTILE) -> Review:
    """A recording whose headers, cells, file name and sheet are hostile, read from disk as any other."""
    folder = folder / "Jane Doe's secrets"
    folder.mkdir()
    file = folder / "=cmd <svg onload=alert(3)>.csv"
    quoted = HOSTILE.replace('"', '""')
    head = f'time,"Generator power [W] {quoted}",Load power [W],"{quoted}","=HYPERLINK(""http://bad"")"'
    rows = [
        f"2026-02-14T10:{row // 60:02d}:{row % 60:02d}Z,{1500 if row > 100 else 0},300,<script>,@SUM(A1)"
        for row in range(600)
    ]
    file.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    named = site_name.replace("\\", "\\\\").replace('"', '\\"')
    sheet = f'[site]\nname = "{named}"\n[generator]\nrated_w = 1000\nvolts = 230\n'
    file.with_suffix(".toml").write_text(sheet, encoding="utf-8")
    return review(*open_recording(file))
