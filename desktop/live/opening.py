"""From what a person names to a live system: an address, a site sheet that names devices, or a recording."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from desktop.site import Site

if TYPE_CHECKING:
    from desktop.live.watch import Watch
    from drivers.source import Source


@dataclass(frozen=True, slots=True)
class Live:
    """A source, the sheet of its site, and where that was read; None where there is none."""

    source: Source
    site: Site
    sheet: Path | None


def open_live(text: str, site_path: str | Path | None = None, interval_s: float | None = None) -> Live:
    """What an address, a site sheet or a recording's path means; a recording is played as if it were live.

    site_path   another sheet than the one that is named, or that lies beside the recording
    interval_s  how often to read; None for the devices' own pace

    HeadraceError where it means nothing.
    """
    # The drivers and what reads tables are heavy, and a mistyped option needs none of them.
    from drivers.opening import open_source

    path, sheet = Path(text), Path(site_path) if site_path is not None else None
    if "://" in text:
        site = Site.load(sheet) if sheet is not None else Site()
        return Live(open_source(text, interval_s=interval_s), site, sheet)
    if path.suffix.lower() == ".toml":
        devices = Site.load(path)
        site = Site.load(sheet) if sheet is not None else devices
        source = open_source(devices.device, folder=path.parent, interval_s=interval_s)
        return Live(source, site, sheet or path)
    from desktop.opening import open_recording, sheet_beside
    from drivers.played import PlayedSource

    recording, site = open_recording(path, sheet)
    return Live(PlayedSource(recording), site, sheet or sheet_beside(path))


def open_watch(
    text: str,
    *,
    site_path: str | Path | None = None,
    interval_s: float | None = None,
    notify: Callable[[], None] | None = None,
) -> Watch:
    """A live system, not started yet. HeadraceError where there can't be one."""
    from desktop.live.watch import Watch
    from desktop.sheet.recorded import SheetBeside

    live = open_live(text, site_path, interval_s)
    return Watch(live.source, live.site, notify=notify, beside=SheetBeside(live.sheet).put)
