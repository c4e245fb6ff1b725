"""The recording that what is open is compared with. Qt-free."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from desktop.words import tr

if TYPE_CHECKING:
    from desktop.review import Review
    from desktop.window.opening import Ready
    from desktop.window.working import Progress

_READING, _REVIEWING = 0.5, 0.45


@dataclass(frozen=True, slots=True)
class Other:
    """Another recording.

    lent  it has no site sheet of its own, and is read with that of what is open
    """

    review: Review
    lent: bool


def read_other(paths: tuple[Path, ...], opened: Ready, progress: Progress) -> Other:
    """Read and review it. HeadraceError where that can't be."""
    from desktop.opening import open_recording, read_recordings, sheet_beside, sheet_within
    from desktop.review import review

    reading, reviewing = tr("Reading"), tr("Reviewing")
    progress(reading, 0.0)
    dates = opened.wanted.day_first if opened.wanted is not None else None
    lent = not any(map(sheet_beside, paths)) and not sheet_within(paths)

    def told(share: float) -> None:
        progress(reading, _READING * share)

    if lent:
        site = opened.review.site
        recording = read_recordings(paths, site, day_first=dates, progress=told)
    else:
        recording, site = open_recording(list(paths), day_first=dates, progress=told)
    found = review(recording, site, progress=lambda share: progress(reviewing, _READING + _REVIEWING * share))
    return Other(found, lent)
