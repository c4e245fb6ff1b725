"""Opening recordings: find the site sheet, read with its rules, join several in time."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from recordings.errors import ReadError, UsageError

if TYPE_CHECKING:
    from desktop.site import Site
    from recordings.recording import Recording
    from recordings.tables import ColumnRule

Progress = Callable[[float], None]


def open_recording(
    paths: str | Path | Sequence[str | Path],
    site_path: str | Path | None = None,
    *,
    day_first: bool | None = None,
    progress: Progress | None = None,
) -> tuple[Recording, Site]:
    """Read one recording, or several of one site joined in time, with the site's sheet.

    paths      tables, archives or packs. A pack stands for all recordings in it
    site_path  the sheet; None for the `.toml` of the same name beside a recording, else the one in a pack, or
               none at all
    day_first  how dates such as 03/04/2026 are meant, None to settle it by the file itself
    progress   is told the share that is done, 0..1

    HeadraceError where a file can't be read or understood, or where the recordings' own sheets differ.
    """
    files = [Path(path) for path in ([paths] if isinstance(paths, (str, Path)) else paths)]
    if not files:
        raise UsageError("no recording given", mend="name a file")
    site = _site(files, site_path)
    return read_recordings(files, site, day_first=day_first, progress=progress), site


def read_recordings(
    files: Sequence[Path],
    site: Site,
    *,
    day_first: bool | None = None,
    progress: Progress | None = None,
) -> Recording:
    """Read recordings as a site's sheet says, joined in time where they are several.

    day_first  as in `open_recording`; what the sheet says where it is None
    HeadraceError where a file can't be read or understood.
    """
    # These imports are heavy, and a start without a recording needs none of them.
    from desktop.pack.names import is_pack
    from desktop.pack.recordings import part, read_pack
    from recordings.join import joined

    def read(file: Path, told: Progress | None) -> Recording:
        return _read(file, site, day_first, told)

    if day_first is None and site.site.dates is not None:
        day_first = site.site.dates == "day first"
    recordings: list[Recording] = []
    for number, file in enumerate(files):
        told = part(progress, number, len(files))
        if is_pack(file):
            recordings += read_pack(file, read, told)
        else:
            recordings.append(read(file, told))
    return recordings[0] if len(recordings) == 1 else joined(recordings)


def _read(file: Path, site: Site, day_first: bool | None, progress: Progress | None) -> Recording:
    from recordings.archive import is_archive, read_archive
    from recordings.tables import read_table

    if is_archive(file):
        return read_archive(file)
    return read_table(
        file,
        rules=rules_of(site),
        timezone=site.site.timezone if site.given("site", "timezone") else "",
        stamp=site.site.stamp,
        day_first=day_first,
        ac_input=ac_input_of(site),
        progress=progress,
    )


def ac_input_of(site: Site) -> Literal["", "generator", "grid"]:
    """What feeds the inverter-charger's AC input, where the sheet knows it; else nothing."""
    known = site.given("generator") or site.given("input")
    return "generator" if known and not site.given("charger", "on_grid") else ""


def sheet_beside(path: str | Path) -> Path | None:
    """The site sheet that lies beside a recording: the `.toml` of the same name; None where there is none."""
    path = Path(path)
    if not path.name:
        return None
    sheet = path.with_suffix(".toml")
    try:
        return sheet if sheet != path and sheet.is_file() else None
    except OSError:
        # A name that is too long, for one: the recording's own refusal tells of it.
        return None


def sheet_for(paths: Sequence[Path], site_path: Path | None = None) -> Path:
    """The file of the sheet that holds for recordings opened together; the one to make where there is none."""
    found = [sheet for sheet in map(sheet_beside, paths) if sheet is not None]
    return site_path or (found[0] if found else paths[0].with_suffix(".toml"))


def sheet_within(paths: Sequence[Path]) -> str:
    """The text of the sheet that holds for recordings opened together where none lies beside them: that of a
    pack among them; empty where there is none. ReadError where a pack can't be read.
    """
    from desktop.pack.names import is_pack
    from desktop.pack.reading import Pack

    for path in filter(is_pack, paths):
        with Pack(path) as pack:
            text = pack.sheet()
        if text:
            return text
    return ""


def _site(files: Sequence[Path], site_path: str | Path | None) -> Site:
    from desktop.site import Site

    if site_path is not None:
        return Site.load(site_path)
    found: dict[str, Site] = {}
    for file in files:
        sheet = sheet_beside(file)
        if sheet is not None:
            found[str(sheet)] = Site.load(sheet)
        elif text := sheet_within([file]):
            found[str(file)] = Site.parse(text, f"{file}: site sheet")
    if not found:
        return Site()
    (first, site), *others = found.items()
    for name, other in others:
        if other != site:
            raise UsageError(
                f"{Path(first).name} and {Path(name).name} are different site sheets",
                mend="open recordings of one site together, or name the sheet that holds for all",
            )
    return site


def rules_of(site: Site) -> dict[str, ColumnRule]:
    """What a sheet says about columns, as the reader of tables takes it."""
    from recordings.tables import ColumnRule

    return {
        channel: ColumnRule(rule.column, rule.unit, rule.sign, rule.less, rule.scale, rule.offset)
        for channel, rule in site.columns.items()
    }


@dataclass(frozen=True, slots=True)
class Demo:
    """A recording that comes along, with what it is and what to look for (English templates)."""

    path: Path
    title: str
    look_for: str


def demos() -> list[Demo]:
    """The recordings that come along, the one to show first ahead; none where they weren't installed."""
    folder = _demo_folder()
    try:
        text = (folder / "index.toml").read_text(encoding="utf-8")
    except OSError:
        return []
    index = tomllib.loads(text)
    entries = sorted(index["demo"], key=lambda each: each["name"] != index["default"])
    return [Demo(folder / f"{each['name']}.csv", each["title"], each["look_for"]) for each in entries]


def default_demo() -> Path:
    """The recording to show where none is named. ReadError where none came along."""
    found = demos()
    if not found:
        raise ReadError(
            "no demo recordings came along", where=_demo_folder(), mend="name a recording, or install anew"
        )
    return found[0].path


def _demo_folder() -> Path:
    import recordings

    return Path(recordings.__file__).parent / "demo"
