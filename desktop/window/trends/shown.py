"""What a trend view shows of a source: which of its curves, which findings, and what has changed since. Qt-free."""

from __future__ import annotations

import numpy as np

from desktop.picture.trends.bands import BandTable
from desktop.picture.trends.source import Pane, Series, TrendSource
from desktop.picture.trends.store import LevelStore
from desktop.teaching.hiding import judged
from desktop.window.trends.words import value_text

_SECOND = 1_000_000_000
_PAPER = 120 * _SECOND
"""What grows has at least so much of a time axis, so that it isn't drawn anew at another scale with each row."""


class Shown:
    """A source with its levels, and the curves that were chosen of it.

    keys    of the curves that are shown
    hidden  the instant after which nothing is shown (UTC nanoseconds); None: everything is
    """

    def __init__(self, source: TrendSource, store: LevelStore | None = None) -> None:
        self.source = source
        self.store = store if store is not None and store.source is source else LevelStore(source)
        self.keys = frozenset(each.key for each in source.series if each.shown)
        self.hidden: int | None = None
        self._offered = frozenset(each.key for each in source.series)
        self._seen = (source.revision, len(source.time))
        self._bands = BandTable(source.bands)

    @property
    def bands(self) -> BandTable:
        """The findings that may be shown."""
        return self._bands if self.hidden is None else BandTable(judged(self._bands.bands, self.hidden))

    @property
    def curves(self) -> list[Series]:
        """Those that are shown."""
        return [each for each in self.source.series if each.key in self.keys]

    @property
    def panes(self) -> list[Pane]:
        """Those that have curves."""
        used = {each.pane for each in self.curves}
        return [pane for pane in self.source.panes if pane.key in used]

    @property
    def last(self) -> int | None:
        """The last instant that may be shown, UTC nanoseconds; None where nothing is recorded."""
        if not len(self.source.time):
            return None
        last = int(self.source.time[-1])
        return last if self.hidden is None else min(last, self.hidden)

    def extent(self, live: bool, ahead: int) -> tuple[int, int]:
        """From when to when there is something to see, or will be."""
        time = self.source.time
        if not len(time):
            return 0, _SECOND
        first, last = int(time[0]), int(time[-1])
        return first, (max(last, first + _PAPER) if live else last) + ahead

    def changed(self, stop: int) -> bool:
        """Whether what is seen up to an instant looks otherwise than before; the source is known from now on."""
        source = self.source
        bands = list(source.bands)
        revision, rows = self._seen
        self._seen = source.revision, len(source.time)
        if revision != source.revision or bands != self._bands.bands:
            self._bands = BandTable(bands)
            return True
        added = source.time[rows:]
        return bool(len(added)) and int(added[0]) <= stop + source.bridge

    def take_new_curves(self) -> bool:
        """Curves that weren't there before are shown as they are at first; the others stay as they were chosen."""
        keys = frozenset(each.key for each in self.source.series)
        if keys == self._offered:
            return False
        new = keys - self._offered
        self.keys |= frozenset(each.key for each in self.source.series if each.shown and each.key in new)
        self._offered |= keys
        return True

    def values_at(self, instant: int) -> dict[str, str]:
        """Text of each shown curve's value at an instant (key → text), as the legends show it."""
        row = -1 if self.hidden is not None and instant > self.hidden else _row_at(self.source, instant)
        return {series.key: value_text(series, row) for series in self.curves}

    def stepped(self, instant: int | None, rows: int, most: int) -> int:
        """The instant so many rows on, within the first `most` rows; None steps from the last row."""
        time = self.source.time
        at = int(time[-1]) if instant is None else instant
        row = int(np.searchsorted(time, at, side="right")) - 1
        return int(time[min(max(row + rows, 0), most - 1)])


def _row_at(source: TrendSource, instant: int) -> int:
    """The row that holds at an instant; -1 before the first, in a gap, and long after the last."""
    time = source.time
    row = int(np.searchsorted(time, instant, side="right")) - 1
    if row < 0 or instant - int(time[row]) > source.bridge:
        return -1
    return -1 if _in_gap(source.gaps, instant) else row


def _in_gap(gaps: np.ndarray, instant: int) -> bool:
    following = int(np.searchsorted(gaps[:, 1], instant, side="right"))
    return following < len(gaps) and int(gaps[following, 0]) < instant
