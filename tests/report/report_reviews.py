"""Reviews to report on: the demos, and recordings and sheets made to do harm."""

from __future__ import annotations

from functools import cache

from desktop.opening import demos, open_recording
from desktop.review import Review, review

NAMES = ("load-step", "limit-too-high", "reversed-battery-meter", "two-overcast-days")

HOSTILE = '</td><script>alert(1)</script><img src=x onerror="alert(2)"> & \'"><b>{{7*7}}{0}%s'
"""What must stay text wherever it is shown."""


@cache
def demo(name: str) -> Review:
    """The review of a demo."""
    path = next(each.path for each in demos() if each.path.stem == name)
    return review(*open_recording(path))


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
