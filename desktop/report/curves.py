"""Which curves a report draws: each in a pane of its own, so that paper without colours tells them apart."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo

import numpy as np
from numpy.typing import NDArray

from desktop.flow.streams import CHANNEL_OF
from desktop.picture.levels import Values
from desktop.picture.trends.source import Band, LimitLine, Pane, Series, TrendSource
from desktop.sheet.channels import label
from desktop.words import Phrase
from recordings.channels import CHANNELS

_POWERS = "powers"
_POWER = "power"
_TURNING = 0.8
"""Below this share of the highest speed or voltage a set starts, stops or stands."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A trend source of which some panes are drawn."""

    zone: tzinfo
    revision: int
    time: NDArray[np.int64]
    bridge: int
    panes: Sequence[Pane]
    series: Sequence[Series]
    limits: Sequence[LimitLine]
    bands: Sequence[Band]
    gaps: NDArray[np.int64]


def chosen(source: TrendSource, panes: Sequence[str], as_read: bool = False) -> TrendSource:
    """Some panes of a source.

    panes    their keys; "powers" for a pane of each power
    as_read  powers are drawn as their meters read, where they have one
    """
    found = [*(_each_power(source, as_read) if _POWERS in panes else ()), *_others(source, panes)]
    drawn, series = [pane for pane, _ in found if pane is not None], [one for _, one in found]
    return Chosen(
        zone=source.zone,
        revision=source.revision,
        time=source.time,
        bridge=source.bridge,
        panes=drawn,
        series=series,
        limits=list(_placed(source.limits, drawn)),
        bands=source.bands,
        gaps=source.gaps,
    )


def _each_power(source: TrendSource, as_read: bool) -> Iterator[tuple[Pane | None, Series]]:
    whole = next(pane for pane in source.panes if pane.key == _POWER)
    by_key = {series.key: series for series in source.series}
    for series in source.series:
        if series.pane != _POWER or not series.shown or series.kind != "reconciled":
            continue
        key = f"{_POWER}_{series.key}"
        one = by_key.get(CHANNEL_OF.get(series.key, ""), series) if as_read else series
        yield (
            replace(whole, key=key, title=series.label),
            replace(one, pane=key, role=series.role, shown=True),
        )


def _others(source: TrendSource, panes: Sequence[str]) -> Iterator[tuple[Pane | None, Series]]:
    for pane in source.panes:
        every = [series for series in source.series if series.pane == pane.key]
        # One of which nothing is usually shown has all its curves.
        mine = [series for series in every if series.shown] or every
        if pane.key not in panes or pane.key == _POWER or not mine:
            continue
        first = f"{pane.key}_{mine[0].key}"
        for series in mine:
            # A limit that was reported stands with what it limits.
            key = first if series.role == "limit" else f"{pane.key}_{series.key}"
            one = replace(series, pane=key, shown=True)
            if pane.base == "running":
                # What a set shows that starts or stands is left out: the axis holds all that it does as it turns.
                one = replace(one, values=_turning(series.values))
            if key == first and one.role == "limit":
                yield None, one
                continue
            base = "free" if pane.base == "running" else pane.base
            title = _title(pane, series) if len(mine) > 1 else pane.title
            yield replace(pane, key=key, title=title, base=base), one


def _title(pane: Pane, series: Series) -> Phrase:
    if series.key in CHANNELS:
        return Phrase("{channel}", channel=label(series.key))
    return Phrase("{pane}: {curve}", pane=pane.title, curve=series.label)


def _turning(values: Callable[[], Values]) -> Callable[[], Values]:
    def masked() -> Values:
        read = values()
        known = read[np.isfinite(read)]
        if not known.size:
            return read
        return np.where(read >= _TURNING * known.max(), read, np.float32(np.nan)).astype(np.float32)

    return masked


def _placed(limits: Sequence[LimitLine], panes: Sequence[Pane]) -> Iterator[LimitLine]:
    """Limits in each pane that is made of theirs; those of power are the generator's."""
    for limit in limits:
        for pane in panes:
            whole = (
                pane.key == f"{_POWER}_generator" if limit.pane == _POWER else pane.key.startswith(limit.pane)
            )
            if whole:
                yield replace(limit, pane=pane.key)
