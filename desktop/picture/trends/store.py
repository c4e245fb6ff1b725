"""The levels of a source's curves: made once, extended as the source grows."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from desktop.picture.levels import Levels, Values
from desktop.picture.trends.columns import Columns, Points, Spans
from desktop.picture.trends.source import Series, TrendSource
from recordings.room import IN_MEMORY, Room


class LevelStore:
    """Keeps a `Levels` per curve. Not for two threads at once; may be prepared in one and handed to another.

    room  where the levels lie
    """

    def __init__(self, source: TrendSource, room: Room = IN_MEMORY) -> None:
        self.source = source
        self._room = room
        self._levels: dict[str, Levels] = {}
        self._revision = source.revision

    def prepare(self, series: Iterable[Series], progress: Callable[[float], None] | None = None) -> None:
        """Make the levels of these curves now, instead of when they are first drawn."""
        chosen = list(series)
        for done, each in enumerate(chosen):
            self.levels(each)
            if progress:
                progress((done + 1) / len(chosen))

    def levels(self, series: Series) -> tuple[Values, Levels]:
        """A curve's values and their levels, both up to date."""
        if self._revision != self.source.revision:
            self._levels.clear()
            self._revision = self.source.revision
        values = series.values()
        levels = self._levels.setdefault(series.key, Levels(self._room))
        if len(levels) != len(values):
            levels.extend(values)
        return values, levels

    def drawn(self, series: Series, columns: Columns) -> Points | Spans:
        """What to draw of a curve in a window: all its readings, or the lowest and highest per column."""
        values, levels = self.levels(series)
        # The columns may know fewer rows, where the latest ones aren't to be seen.
        values = values[: len(columns.time)]
        return columns.points(values) if columns.sparse else columns.spans(values, levels)

    @property
    def nbytes(self) -> int:
        """Memory of all levels, bytes."""
        return sum(levels.nbytes for levels in self._levels.values())
