"""What the user wants to watch. Qt-free."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Wish:
    """A source to watch.

    source      an address, a site sheet that names devices, or a recording to be played as if it were live
    site        another site sheet; None for the one that the source is or that lies beside it
    to          the file or folder to record into from the beginning; None for no recording
    interval_s  how often to read; None for the devices' own pace
    """

    source: str
    site: Path | None = None
    to: Path | None = None
    interval_s: float | None = None

    @property
    def name(self) -> str:
        """What to call it in a menu."""
        return self.source if "://" in self.source else Path(self.source).name
